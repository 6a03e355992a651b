"""The terminal shell of loomtag: commands, the app and its screens."""
