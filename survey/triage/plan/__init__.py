"""The week plan: who does what on which day, what will be late, and what would help."""
