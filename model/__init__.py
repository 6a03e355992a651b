"""The core of loomtag: harness values, edits, rules and papers. Knows nothing of a terminal."""
