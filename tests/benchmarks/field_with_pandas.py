#!/usr/bin/env python3
"""What field_benchmark.py compares with: pandas reads the same table and counts gaps by pass and row, no more."""
import sys

import pandas

table = pandas.read_csv(sys.argv[1])
table = table.sort_values(["pass", "row", "drop"], kind="stable")
silent = (table["seen"] == 0) & (table["target"] > 0)
same = (table["pass"] == table["pass"].shift()) & (table["row"] == table["row"].shift()) & (
    table["drop"] == table["drop"].shift() + 1)
begins = silent & ~(silent.shift(fill_value=False) & same)
print(int(begins.sum()), "gaps,", int(silent.sum()), "silent drops")
