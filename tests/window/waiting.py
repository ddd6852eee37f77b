"""How patient the window tests are: WAIT in the words after the script, such as "wait3", on a machine that is busy with other things."""

import sys

WAIT = next((float(word.removeprefix("wait")) for word in sys.argv[1:] if word.startswith("wait")), 1.0)
"""How many times as long as usual a script waits before it gives up."""
