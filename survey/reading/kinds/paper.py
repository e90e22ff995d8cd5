"""The structure of the paper: laid or wove, laid lines, chain lines and their intervals."""
