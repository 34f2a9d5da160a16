"""Lets ``python -m pegscore`` do what ``pegscore`` does."""

import sys

from pegscore.cli import main

sys.exit(main())
