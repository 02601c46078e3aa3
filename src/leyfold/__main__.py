"""`python -m leyfold` is the command `leyfold`."""

import sys

from leyfold.cli import main

sys.exit(main())
