#!/usr/bin/env python3
"""Fails where a file includes what its own target does not link: the link lists are the architecture.

Every target of ours counts: rooms, executables, tests and what tests share. A link that comes along with another
link is no permission; a room's link that no include needs is none either. A library that is not ours is seen by its own
rooms only. Usage: rooms_test.py TOP
"""
import pathlib
import re
import sys
from dataclasses import dataclass, field

TOP = pathlib.Path(sys.argv[1])
# A folder may use what stands to its left; nothing on the left may use it.
DIRECTION = ["analysis", "fixtures", "calibration", "bench", "tests"]
REPORT = "analysis/report"
# Rooms that work something out show reports their models only; of all other rooms a report may include any header.
MODELS = {
    "analysis/audit": {"series"},
    "analysis/audit/model": {"audit_report", "before_after", "channel_report", "contradiction", "drop_evidence", "sensor"},
    "analysis/audit/doubt": set(),
    "analysis/field": {"audit"},
    "analysis/field/table": set(),
    "analysis/field/input": set(),
    "analysis/field/judge": set(),
    "analysis/batch/certificate": {"certificate"},
    "analysis/causes": set(),
}
# Which rooms see a library that is not ours, in the product; below a folder all count.
FOREIGN = {
    "boost/math/": ["analysis/statistics"],
    "boost/accumulators/": ["analysis/statistics"],
    "Eigen/": ["analysis/statistics"],
    "boost/asio": ["bench/station/server"],
    "boost/beast": ["bench/station/server"],
    "toml++/": ["analysis/base/readers", "calibration/record"],
    "CLI/": ["bench/commands/shell"],
    "spdlog/": ["bench/commands/run/screen"],
    "libserialport.h": ["bench/link"],
    "SQLiteCpp/": ["bench/book"],
    "sqlite3.h": ["bench/book"],
    "cairo": ["analysis/report/pdf"],
    "pango/": ["analysis/report/pdf"],
    "openssl/": ["analysis/droplog"],
    "GeographicLib/": ["analysis/field"],
}
SOURCE = re.compile(r"\.(cpp|c|hpp|h|cpp\.in)$")


@dataclass
class Target:
    name: str
    folder: str
    sources: list = field(default_factory=list)
    links: set = field(default_factory=set)
    is_room: bool = False
    embeds: bool = False


def unrolled(text):
    """foreach(name a b …) … endforeach() written out."""
    def written_out(loop):
        name, *items = loop[1].split()
        return "".join(loop[2].replace("${" + name + "}", item) for item in items)
    return re.sub(r"foreach\s*\(([^)]*)\)(.*?)endforeach\s*\(\)", written_out, text, flags=re.DOTALL)


def commands_of(lists):
    text = unrolled(re.sub(r"#.*", "", lists.read_text()))
    for found in re.finditer(r"(\w+)\s*\(([^()]*(?:\([^()]*\)[^()]*)*)\)", text):
        words = found[2].split()
        if words:
            yield found[1], words


def named_files(folder, words):
    return [folder / word for word in words if SOURCE.search(word) and "$" not in word]


def globbed(folder, pattern):
    return sorted(path for path in folder.glob(pattern) if SOURCE.search(path.name))


def after(words, keyword):
    return words[words.index(keyword) + 1:] if keyword in words else []


def before(words, keyword):
    return words[:words.index(keyword)] if keyword in words else words


def links_in(words):
    return {word for word in words if word not in ("PUBLIC", "PRIVATE", "INTERFACE")}


def made_by(command, words, folder):
    """The target that this command of a CMakeLists.txt makes, if it makes one."""
    name, where = words[0], folder.relative_to(TOP).as_posix()
    links = links_in(after(words, "LINKS"))
    if command == "dropledger_room":
        return Target(name, where, globbed(folder, "*"), links, is_room=True)
    if command == "dropledger_tests":
        return Target(name, where, globbed(folder, "*_test.cpp"), links)
    if command == "dropledger_fuzz":
        own = [folder / f"{name}_fuzz.cpp", folder / "replay.cpp"]
        return Target(name + "_replay", where, own + named_files(folder, after(words, "SOURCES")),
                      links_in(before(after(words, "LINKS"), "SOURCES")))
    if command == "embed_texts":
        return Target(name, where, embeds=True)
    if command in ("add_executable", "add_library") and "INTERFACE" not in words:
        return Target(name, where, named_files(folder, words[1:]))
    return None


def targets():
    found = {}
    for lists in sorted(TOP.glob("*/**/CMakeLists.txt")):
        folder = lists.parent
        if folder.relative_to(TOP).parts[0] not in DIRECTION:
            continue
        for command, words in commands_of(lists):
            made = made_by(command, words, folder)
            if made and "$" not in made.name:
                found[made.name] = made
            elif command == "target_sources" and words[0] in found:
                found[words[0]].sources += named_files(folder, words[1:])
            elif command == "target_link_libraries" and words[0] in found:
                found[words[0]].links |= links_in(words[1:])
    return found


def includes_of(path):
    for number, line in enumerate(path.read_text(errors="replace").splitlines(), 1):
        found = re.match(r"\s*#\s*include\b(.*)", line)
        if found:
            name = re.match(r'\s*(["<])([^">]+)[">]\s*(//.*|/\*.*)?$', found[1])
            yield number, (name[1], name[2]) if name else None


class Check:
    def __init__(self):
        self.targets = targets()
        self.rooms = {target.folder: target for target in self.targets.values() if target.is_room}
        self.compiled_by = {}
        for target in self.targets.values():
            for source in target.sources:
                self.compiled_by.setdefault(source, set()).add(target.name)
        self.wrong = set()
        self.needed = {name: set() for name in self.targets}
        self.seen = set()

    def refuse(self, path, number, what):
        self.wrong.add(f"{path.relative_to(TOP)}:{number}: {what}")

    def walk(self, target):
        """Every source of the target, and every header outside the rooms that it includes."""
        todo, done = list(target.sources), set()
        while todo:
            path = todo.pop()
            if path in done or not path.is_file():
                continue
            done.add(path)
            for number, name in includes_of(path):
                todo += self.include(target, path, number, name)
        self.seen |= done

    def include(self, target, path, number, name):
        if name is None:
            self.refuse(path, number, "an include that is no plain file name")
            return []
        bracket, name = name
        ours = name.split("/")[0] in DIRECTION
        if bracket == "<" or ".." in name.split("/"):
            if ours or ".." in name.split("/"):
                self.refuse(path, number, f'write "{name}" from the top of the tree, in quotes')
            self.foreign(path, number, name)
            return []
        if not ours:
            return self.near(target, path, number, name)
        wanted = TOP / name
        folder = wanted.parent.relative_to(TOP).as_posix()
        if not wanted.is_file():
            self.refuse(path, number, f"{name} is not there")
            return []
        if folder in self.rooms:
            self.room(target, path, number, wanted)
            return []
        return self.outside_rooms(target, path, number, wanted)

    def foreign(self, path, number, name):
        folder = path.parent.relative_to(TOP).as_posix()
        for library, rooms in FOREIGN.items():
            if (name.startswith(library) and not folder.startswith("tests")
                    and not any((folder + "/").startswith(room + "/") for room in rooms)):
                self.refuse(path, number, f"{name} is seen by {', '.join(rooms)} only")

    def near(self, target, path, number, name):
        """A file beside this one, or the header that an embedding target generates."""
        maker = self.targets.get(name.removesuffix(".hpp"))
        if maker and maker.embeds:
            if maker.name not in target.links:
                self.refuse(path, number, f"{target.name} does not link {maker.name}")
            self.needed[target.name].add(maker.name)
            return []
        if path.parent.joinpath(name).is_file() and "/" not in name:
            return self.outside_rooms(target, path, number, path.parent / name)
        self.refuse(path, number, f"{name} is neither beside this file nor named from the top of the tree")
        return []

    def room(self, target, path, number, wanted):
        room = self.rooms[wanted.parent.relative_to(TOP).as_posix()]
        self.needed[target.name].add(room.name)
        if room is not target and room.name not in target.links:
            self.refuse(path, number, f"{target.name} does not link {room.name}")
        if target.folder.startswith(REPORT) and wanted.stem not in MODELS.get(room.folder, {wanted.stem}):
            self.refuse(path, number, f"a report includes models only, and {wanted.relative_to(TOP)} is none")

    def outside_rooms(self, target, path, number, wanted):
        """A header of the tests or the fuzzing: it counts as the includer's own; what defines it must be linked."""
        folder = wanted.parent.relative_to(TOP).as_posix()
        if wanted.parent != path.parent and target.folder.split("/")[0] != "tests":
            self.refuse(path, number, f"{folder} is no room that {target.name} could link")
        makers = self.compiled_by.get(wanted.with_suffix(".cpp"), set())
        if makers and not makers & (target.links | {target.name}):
            self.refuse(path, number, f"{target.name} links none of {', '.join(sorted(makers))}")
        return [wanted]

    def direction(self, target):
        for link in target.links - self.targets.keys():
            if link.split("_")[0] in DIRECTION:
                self.wrong.add(f"{target.folder}: {target.name} links {link}, which is no target")
        for link in target.links & self.targets.keys():
            other = self.targets[link]
            mine, theirs = (DIRECTION.index(one.folder.split("/")[0]) for one in (target, other))
            if theirs > mine:
                self.wrong.add(f"{target.folder}: {target.name} reaches up to {link}")
            may_report = target.folder.startswith(REPORT) or mine >= DIRECTION.index("bench")
            if other.folder.startswith(REPORT) and not may_report:
                self.wrong.add(f"{target.folder}: {target.name} links {link}; only reports and the bench do that")

    def idle(self, target):
        for link in target.links & self.targets.keys() - self.needed[target.name]:
            self.wrong.add(f"{target.folder}: {target.name} links {link}, and includes nothing of it")

    def cycles(self):
        done, path = set(), []

        def visit(name):
            if name in path:
                self.wrong.add("a circle of links: " + " → ".join(path[path.index(name):] + [name]))
            elif name not in done:
                path.append(name)
                for link in sorted(self.targets[name].links & self.targets.keys()):
                    visit(link)
                path.pop()
                done.add(name)

        for name in sorted(self.targets):
            visit(name)

    def unseen(self):
        for top in DIRECTION:
            for path in sorted((TOP / top).rglob("*")):
                if SOURCE.search(path.name) and path not in self.seen:
                    self.wrong.add(f"{path.relative_to(TOP)}: no target compiles or includes it")

    def run(self):
        for target in self.targets.values():
            self.walk(target)
            self.direction(target)
            if target.is_room:
                self.idle(target)
        self.cycles()
        self.unseen()


def main():
    check = Check()
    check.run()
    print("\n".join(sorted(check.wrong)) or
          f"{len(check.targets)} targets, {len(check.seen)} files: every include follows a direct link")
    if len(check.seen) < 50:
        print("too few files were looked at: is the layout still what this test knows?")
    return 1 if check.wrong or len(check.seen) < 50 else 0


sys.exit(main())
