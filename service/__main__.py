"""`python -m service` is the same as `tailproof`."""

import sys

from service.cli import main

sys.exit(main())
