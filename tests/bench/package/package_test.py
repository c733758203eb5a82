#!/usr/bin/env python3
"""The Debian package: the same bytes twice, nothing that lintian calls an error, right dependencies; installed, used by an
ordinary user and purged in a clean root.

The clean root is a Debian of its own (mmdebstrap, else debootstrap) where this machine lets one be made, else a folder that
dpkg takes for a root; which of them it was is printed. usage: package_test.py BUILD TOP"""
import gzip
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

BUILD, TOP = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
HERE = pathlib.Path(__file__).resolve().parent
EPOCH = "1790000000"
# Warnings that stay, each with its reason. None at present.
EXPLAINED = {}


def run(*words, env=None, timeout=600, check=True, **more):
    done = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=timeout,
                          env=None if env is None else os.environ | env, **more)
    assert not check or done.returncode == 0, (words, done.returncode, done.stdout[-3000:], done.stderr[-3000:])
    return done


def pack(out, umask=0o022, **env):
    made = run("bash", TOP / "bench/package/pack.sh", BUILD, out, env={"SOURCE_DATE_EPOCH": EPOCH} | env, umask=umask)
    return pathlib.Path(made.stdout.strip())


def hash_of(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def codename():
    found = re.search(r"^VERSION_CODENAME=(\w+)$", pathlib.Path("/etc/os-release").read_text(), re.MULTILINE)
    return found[1] if found else ""


class Package(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.room = tempfile.TemporaryDirectory()
        cls.top = pathlib.Path(cls.room.name)
        cls.top.chmod(0o755)
        cls.deb = pack(cls.top / "first")
        cls.names = [re.split(r"[ (|]", one.strip())[0] for one in cls.field("Depends").split(",")]

    @classmethod
    def tearDownClass(cls):
        cls.room.cleanup()

    @classmethod
    def field(cls, name):
        return run("dpkg-deb", "-f", cls.deb, name).stdout.strip()

    def contents(self):
        folder = self.top / "contents"
        if not folder.exists():
            run("dpkg-deb", "-x", self.deb, folder)
        return folder

    def test_is_called_after_the_version_that_the_program_states(self):
        version = run(BUILD / "dropledger", "--version").stdout.split()[1]
        self.assertEqual(self.deb.name, f"dropledger_{version}_{run('dpkg', '--print-architecture').stdout.strip()}.deb")
        with gzip.open(self.contents() / "usr/share/doc/dropledger/changelog.gz", "rt") as changelog:
            self.assertTrue(changelog.readline().startswith(f"dropledger ({version}) "))
        self.assertIn(f'"dropledger {version}"', self.page("dropledger"))

    def page(self, name):
        with gzip.open(self.contents() / f"usr/share/man/man1/{name}.1.gz", "rt") as page:
            return page.read()

    def test_the_same_build_gives_the_same_bytes_whoever_packs_it_and_when(self):
        made = BUILD / "bench/package/made"
        for file in [made / "dropledger.bash", made / "changelog.gz", *(made / "man").iterdir()]:
            os.utime(file, (1_000_000_000, 1_000_000_000))
        again = pack(self.top / "again", umask=0o077, TZ="Asia/Tokyo", LC_ALL="C", USER="somebody")
        self.assertEqual(hash_of(again), hash_of(self.deb))
        later = pack(self.top / "later", SOURCE_DATE_EPOCH=str(int(EPOCH) + 86400))
        self.assertNotEqual(hash_of(later), hash_of(self.deb))

    def test_holds_no_path_of_the_machine_that_built_it(self):
        looked_at = 0
        for file in self.contents().rglob("*"):
            if file.is_file():
                data = file.read_bytes()
                data = gzip.decompress(data) if file.suffix == ".gz" else data
                self.assertNotIn(str(TOP).encode(), data, file)
                self.assertNotIn(str(BUILD).encode(), data, file)
                looked_at += 1
        self.assertGreater(looked_at, 80)

    def test_lintian_finds_no_error_and_no_warning_that_is_not_explained(self):
        done = run("lintian", "--tag-display-limit", 0, self.deb, check=False)
        self.assertIn(done.returncode, (0, 1, 2), done.stderr)
        found = re.findall(r"^([EW]): dropledger: (\S+)(.*)$", done.stdout, re.MULTILINE)
        self.assertEqual([one for one in found if one[0] == "E" or one[1] not in EXPLAINED], [])

    def test_its_menu_entry_is_one(self):
        entries = list((self.contents() / "usr/share/applications").iterdir())
        self.assertEqual([one.name for one in entries], ["dropledger-serve.desktop"])
        self.assertEqual(run("desktop-file-validate", entries[0]).stdout, "")
        self.assertTrue((self.contents() / "usr/share/icons/hicolor/scalable/apps/dropledger.svg").is_file())

    def test_lintian_would_find_one(self):
        folder = self.top / "spoilt"
        run("dpkg-deb", "-R", self.deb, folder)
        (folder / "usr/share/doc/dropledger/copyright").unlink()
        spoilt = self.top / "spoilt.deb"
        run("dpkg-deb", "--root-owner-group", "-b", folder, spoilt)
        self.assertIn("E: dropledger: no-copyright-file", run("lintian", spoilt, check=False).stdout)

    def test_depends_on_what_is_loaded_by_name_and_on_nothing_unknown(self):
        drawing = (TOP / "analysis/report/pdf/drawing.cpp").read_text()
        loaded = re.findall(r'library_name = "(lib[^"]+\.so\.[0-9]+)"', drawing)
        self.assertEqual(len(loaded), 1)
        owner = run("dpkg", "-S", f"*/{loaded[0]}").stdout.split(":")[0]
        self.assertIn(owner, self.names)
        wanted = run("objdump", "-p", BUILD / "dropledger").stdout
        for library in re.findall(r"NEEDED +(\S+)", wanted):
            owners = {line.split(":")[0] for line in run("dpkg", "-S", f"*/{library}").stdout.splitlines()}
            self.assertTrue(self.provided(owners) & set(self.names), library)
        # Every name is a package that apt finds; nothing is installed by this.
        plan = run("apt-get", "--simulate", "-o", "Debug::NoLocking=1", "install", self.deb).stdout
        self.assertIn("Inst dropledger ", plan)

    @staticmethod
    def provided(owners):
        names = run("dpkg-query", "-W", "-f", "${Package}, ${Provides}\n", *sorted(owners)).stdout
        return set(re.findall(r"[a-z0-9][a-z0-9.+-]+", names))

    def test_a_clean_root_takes_it_runs_it_and_is_clean_again(self):
        for way in (self.mmdebstrap, self.debootstrap, self.plain):
            why_not = way()
            if why_not is None:
                print(f"clean root: {way.__name__}", flush=True)
                return
            print(f"no clean root by {way.__name__}: {why_not}", flush=True)
        self.fail("no way to a clean root")

    # Each way returns why no root could be made; once there is one, what fails in it fails the test.

    def mmdebstrap(self):
        if not shutil.which("mmdebstrap"):
            return "it is not installed"
        begun = self.top / "begun"
        use = f"touch {begun}; unshare --mount {sys.executable} {HERE}/use_installed.py \"$1\" {self.deb} chroot"
        done = run("timeout", "--signal=INT", 900, "mmdebstrap", "--variant=apt", f"--include={','.join(self.names)}",
                   f"--customize-hook={use}", codename(), "/dev/null", check=False, timeout=1000)
        if not begun.exists():
            return (done.stderr.strip().splitlines() or ["it said nothing"])[-1]
        self.assertEqual(done.returncode, 0, done.stderr[-3000:])
        return None

    def debootstrap(self):
        if not shutil.which("debootstrap") or os.geteuid() != 0:
            return "it is not installed, or this is not root"
        if run("unshare", "--mount", "true", check=False).returncode != 0:
            return "this machine gives no mount namespace"
        root = self.top / "debian"
        done = run("debootstrap", "--variant=minbase", f"--include={','.join(self.names)}", codename(), root, check=False)
        if done.returncode != 0:
            return (done.stdout.strip().splitlines() or ["it said nothing"])[-1]
        run("unshare", "--mount", sys.executable, HERE / "use_installed.py", root, self.deb, "chroot")
        return None

    def plain(self):
        root = self.top / "root"
        root.mkdir()
        run(sys.executable, HERE / "use_installed.py", root, self.deb, "plain")
        return None


unittest.main(argv=sys.argv[:1] + sys.argv[3:])
