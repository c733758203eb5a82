#!/usr/bin/env python3
"""The same indices as `dropledger audit`, the usual way: the whole log in pandas. For comparison of speed; checks no
CRC and no seal. Prints the ledger and the ISO classes of channel 0, gate 1."""
import sys

import numpy as np
import pandas as pd


def main(path):
    lines = pd.read_csv(path, header=None, names=list("abcdefgh"), dtype=str, engine="c", na_filter=False)
    fall_us, spacing_um = 0, 0
    for _, row in lines[lines.a.isin(["@set", "@channel"])].iterrows():
        value = lambda cell: int(cell.split("*")[0])
        if row.a == "@set" and row.b == "spacing_um":
            spacing_um = value(row.c)
        if row.a == "@channel" and row.c == "gate1_fall_us":
            fall_us = value(row.d)
    travel = lines[lines.a == "travel"]
    travel_t = travel.c.astype(np.int64).to_numpy()
    travel_x = travel.d.str.split("*").str[0].astype(np.int64).to_numpy()
    drops = lines[lines.a == "drop"]
    drop_x = drops.f.astype(np.int64).to_numpy()
    pulses = lines[(lines.a == "pulse") & (lines.e == "1")]
    pulse_t = pulses.c.astype(np.int64).to_numpy()

    def unwrap(ticks):
        return ticks + 2**32 * np.cumsum(np.concatenate([[0], np.diff(ticks) < -(2**31)]))

    travel_t, pulse_t = unwrap(travel_t), unwrap(pulse_t)
    piece = np.clip(np.searchsorted(travel_t, pulse_t, side="right") - 1, 0, len(travel_t) - 2)
    speed = (travel_x[piece + 1] - travel_x[piece]) / (travel_t[piece + 1] - travel_t[piece])
    landing = np.sort(travel_x[piece] + speed * (pulse_t - travel_t[piece] + fall_us))
    offset = np.median((landing - drop_x[0] + spacing_um / 2) % spacing_um - spacing_um / 2)
    middle = (drop_x[1:] + drop_x[:-1]) / 2 + offset
    seeds = np.bincount(np.searchsorted(middle, landing, side="left"), minlength=len(drop_x))
    ratio = np.diff(landing) / spacing_um
    classes = np.bincount(np.searchsorted([0.5, 1.5, 2.5, 3.5], ratio, side="left"), minlength=5)
    single = np.diff(landing)[(ratio > 0.5) & (ratio <= 1.5)]
    print("drops", len(drop_x), "single", (seeds == 1).sum(), "multiple", (seeds > 1).sum(), "miss", (seeds == 0).sum())
    print("classes", classes.tolist(), "C", np.std(single, ddof=1) / spacing_um)


main(sys.argv[1])
