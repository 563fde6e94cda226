"""What each storage method lost, as table, plot, CSV and PDF."""
