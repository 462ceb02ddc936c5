"""The clock of the program under test, set ahead: Python loads this at the start of a process
that has its folder on the path. The program asks one function for the time, so one is enough."""

import os
from datetime import timedelta

from django.utils import timezone

real, ahead = timezone.now, timedelta(seconds=int(os.environ["CLOCK_AHEAD_SECONDS"]))
timezone.now = lambda: real() + ahead
