"""How the parts are joined: settings, addresses, headers, set-up, start and test."""
