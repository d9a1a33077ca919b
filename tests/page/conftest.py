"""The browser for the tests of the page."""

from browser_fixture import browser, visit  # noqa: F401 - fixtures
