"""What every test shares: drawn examples are the same in each run, and slow machines are no failure."""

import hypothesis

# No deadline, since tests assert no time; derandomised, so that a red run is red again for the next reader.
hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")
