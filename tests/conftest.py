"""What every test shares: drawn examples are the same in each run, and slow machines are no failure."""

import hypothesis
import pytest

from tests.browser import launched

# No deadline, since tests assert no time; derandomised, so that a red run is red again for the next reader.
hypothesis.settings.register_profile("house", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("house")


def pytest_collection_modifyitems(items):
    """Tests of femcore last: their files are short, so that workers, which take whole files, end together."""
    items.sort(key=lambda item: item.nodeid.startswith("tests/femcore/"))


@pytest.fixture(scope="session")
def browser():
    """A real browser; a test that asks for it is skipped with a reason where there is none."""
    with launched() as running:
        yield running
