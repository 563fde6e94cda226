"""What every test may use."""

import os

# Playwright's driver runs an event loop in this thread; Django would refuse the database beside it.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
