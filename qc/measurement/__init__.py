"""The record of one file: how it is made in a child process, and how it is kept on disk."""
