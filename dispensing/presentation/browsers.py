"""A browser in plain words, from what it says of itself: enough to know one's own again."""

from __future__ import annotations

# In this order: most of them also name those below them.
_BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("Chrome", "Chrome"),
    ("CriOS", "Chrome"),
    ("Safari", "Safari"),
)
_MACHINES = (
    ("Android", "Android"),
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Windows", "Windows"),
    ("Mac OS X", "a Mac"),
    ("CrOS", "a Chromebook"),
    ("Linux", "Linux"),
)


def browser_in_words(agent: str) -> str:
    """“Firefox on Windows”; “An unknown browser” for what says nothing of the kind."""
    browser = next((words for sign, words in _BROWSERS if sign in agent), "An unknown browser")
    machine = next((words for sign, words in _MACHINES if sign in agent), "")
    return f"{browser} on {machine}" if machine else browser
