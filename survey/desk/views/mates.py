"""Sheets that may come from the same mould, most likely first."""
