"""The record log, the one way to write stock, and the tables worked out from the log."""
