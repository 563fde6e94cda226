"""Label sheets as PDF."""
