#!/usr/bin/env python3
"""Fails where a file includes a room that its own room does not link: the link lists are the architecture."""
import pathlib
import re
import sys

TOP = pathlib.Path(sys.argv[1])
# A row may use what stands to its left; nothing on the left may use it.
DIRECTION = ["analysis", "calibration", "bench"]


def rooms():
    """folder -> (target, links), for every folder whose CMakeLists.txt makes a room."""
    found = {}
    for lists in TOP.glob("*/**/CMakeLists.txt"):
        if "build" in lists.parts or lists.parts[len(TOP.parts)] not in DIRECTION:
            continue
        made = re.search(r"dropledger_room\(\s*(\w+)\s+LINKS\s+([^)]*)\)", lists.read_text())
        if made:
            found[lists.parent.relative_to(TOP).as_posix()] = (made[1], made[2].split())
    return found


def reachable(target, links_of):
    seen, todo = set(), [target]
    while todo:
        for link in links_of.get(todo.pop(), []):
            if link not in seen:
                seen.add(link)
                todo.append(link)
    return seen


def main():
    by_folder = rooms()
    links_of = dict(by_folder.values())
    target_of = {folder: target for folder, (target, _) in by_folder.items()}
    wrong, looked_at = [], 0
    for folder, target in target_of.items():
        allowed = reachable(target, links_of) | {target}
        for source in sorted((TOP / folder).glob("*.?pp")):
            looked_at += 1
            for number, line in enumerate(source.read_text().splitlines(), 1):
                include = re.match(r'#include "((?:analysis|calibration|bench)/[^"]+)/[^/"]+"', line)
                if include and target_of.get(include[1]) not in allowed:
                    wrong.append(f"{source.relative_to(TOP)}:{number}: {target} does not link {include[1]}")
        for link in allowed:
            other = link.split("_")[0]
            if other in DIRECTION and DIRECTION.index(other) > DIRECTION.index(folder.split("/")[0]):
                wrong.append(f"{folder}: {target} reaches up to {link}")
    print("\n".join(wrong) or f"{len(target_of)} rooms, {looked_at} files: every include follows a link")
    if looked_at < 50:
        print("too few files were looked at: is the layout still what this test knows?")
    return 1 if wrong or looked_at < 50 else 0


sys.exit(main())
