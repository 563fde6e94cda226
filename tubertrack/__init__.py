"""Winter Tally: an account of every dahlia tuber from digging to replanting."""

DISPLAY_NAME = "Winter Tally"
