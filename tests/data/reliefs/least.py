#!/usr/bin/env python3
"""Proves how many bricks each course of the reliefs beside this file needs by itself, with glpsol.

    python3 tests/data/reliefs/least.py > tests/data/reliefs/least.txt

A course is an exact cover of its units, columns by tiers, by bricks of the built-in set; a brick's
shown units have one colour. Every course is an integer program of its own, solved to its end. A
line of what is written: relief, thickness, the sum over its courses.
"""
import glob, os, subprocess, sys, tempfile

SIZES = [(1, 1), (1, 2), (1, 3), (1, 4), (1, 6), (1, 8), (2, 2), (2, 3), (2, 4), (2, 6), (2, 8)]
SHAPES = sorted(set(SIZES) | {(b, a) for a, b in SIZES})
DIGITS = "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"


def read(path):
    words = open(path).read().split()
    columns, rows = int(words[0]), int(words[1])
    maps = [[DIGITS.index(c) for c in line] for line in words[2:]]
    assert len(maps) == 2 * rows and all(len(line) == columns for line in maps)
    return maps[:rows][::-1], maps[rows:][::-1]


def course(colours, steps, y, base):
    """Unit (column, tier) to the colour that it shows, or None."""
    rows, columns = len(steps), len(steps[0])
    top = lambda x, v: base + steps[v][x] if 0 <= x < columns and 0 <= v < rows else 0
    units = {}
    for x in range(columns):
        beside = min(top(x - 1, y), top(x + 1, y), top(x, y - 1), top(x, y + 1))
        for tier in range(top(x, y)):
            shown = tier == top(x, y) - 1 or tier >= beside
            units[x, tier] = colours[y][x] if shown else None
    return units


def places(units):
    for x, tier in units:
        for columns, tiers in SHAPES:
            box = [(x + i, tier + k) for i in range(columns) for k in range(tiers)]
            if any(u not in units for u in box):
                continue
            if len({units[u] for u in box} - {None}) <= 1:
                yield box


def least(units, folder):
    over, count = {u: [] for u in units}, 0
    for box in places(units):
        for u in box:
            over[u].append(count)
        count += 1
    name = os.path.join(folder, "course")
    with open(name, "w") as f:
        f.write("Minimize\n bricks:" + "\n".join(" + x%d" % i for i in range(count)))
        f.write("\nSubject To\n")
        for u in units:
            f.write("\n".join(" + x%d" % i for i in over[u]) + " = 1\n")
        f.write("Binary\n" + "\n".join(" x%d" % i for i in range(count)) + "\nEnd\n")
    subprocess.run(["glpsol", "--lp", name, "-w", name + ".out"], check=True, stdout=subprocess.DEVNULL)
    for line in open(name + ".out"):
        if line.startswith("s mip"):
            assert line.split()[4] == "o", line
            return int(line.split()[5])


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted(glob.glob(os.path.join(here, "*-*.txt"))):
            colours, steps = read(path)
            for base in (1, 2, 3):
                total = sum(least(course(colours, steps, y, base), folder) for y in range(len(steps)))
                print(os.path.basename(path)[:-4], base, total)
                sys.stdout.flush()


main()
