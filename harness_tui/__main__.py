"""`python -m harness_tui` is the command `loomtag`."""

import sys

from harness_tui.cli import main

sys.exit(main())
