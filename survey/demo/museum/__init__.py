"""The Port Ellery Museum of Works on Paper. It does not exist, and nobody in it does.

Plain data, made from a seed: no rows are written here. ``survey.demo.services`` does that.
"""
