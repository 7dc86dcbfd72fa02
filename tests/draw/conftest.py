"""Layouts of the tests are kept apart from those of the user."""

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def layouts_apart(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A folder of its own for what layouts are kept."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
