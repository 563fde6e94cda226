"""The server, one app for each room of the house."""
