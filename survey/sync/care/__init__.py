"""Care of what the server keeps: copies of it, their way back, and whether all is as it was."""
