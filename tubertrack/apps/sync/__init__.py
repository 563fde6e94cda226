"""Push and pull: how a device and the server exchange records."""
