"""What a station asks for, read from profiles/."""
