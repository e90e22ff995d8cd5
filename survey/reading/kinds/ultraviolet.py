"""How the sheet answers the ultraviolet lamp, against what it looks like in normal light."""
