"""Keys of the pilot are no held ones."""

from tests.harness_tui.pressing import _pilot_holds_no_key

__all__ = ["_pilot_holds_no_key"]
