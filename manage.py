#!/usr/bin/env python
"""Django's command line."""

import os
import sys

from django.core.management import execute_from_command_line

from pourplan.env import WrongSetting

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "pourplan.settings")
    try:
        execute_from_command_line(sys.argv)
    except WrongSetting as wrong:
        sys.exit(f"Pourplan cannot start: {wrong}")
