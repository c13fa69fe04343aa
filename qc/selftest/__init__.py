"""Published test signals through the real meters, on the user's own machine."""
