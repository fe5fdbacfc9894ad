"""The verdict on a finished pair."""
