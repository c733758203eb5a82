#!/usr/bin/env python3
"""The kit's own building blocks: check, line, numbers, signature, and what the reader must notice."""

import hashlib
import unittest

import ed25519
import second_reader
from line import crc16, decode, encode, number, quote, unquote


def sealed(*bodies, close="@close,count,,"):
    """A log of these bodies, one seal, closed."""
    lines = [encode(body) + b"\n" for body in bodies]
    digest = hashlib.sha256(bytes(32) + b"".join(lines)).hexdigest()
    return b"".join(lines) + encode(f"@seal,{len(lines)},{digest}") + b"\n" + encode(close) + b"\n"


RUN = ["@droplog,1,r,t", "hello,7,0,1,b1,1,f", "@sent," + quote(encode("arm,single,100000,1,250000,1,2")), "armed,8,1", "@confirmed,1",
       "@sent," + quote("go*12FB"), "started,9,2", "drop,10,3,0,0,5,1", "drop,11,4,0,1,6,1", "halted,12,5,count", "@ending,count"]


class Lines(unittest.TestCase):
    def test_the_check_has_the_catalogues_value(self):
        self.assertEqual(crc16(b"123456789"), 0x29B1)
        self.assertEqual(encode("123456789"), b"123456789*29B1")

    def test_a_line_of_240_bytes_is_read_and_one_of_241_is_not(self):
        longest = b"x" * 234
        self.assertEqual(decode(longest + b"*%04X" % crc16(longest)).kind, "host")
        self.assertEqual(decode(longest + b"*%04X\r" % crc16(longest)).kind, "host")
        self.assertEqual(decode(longest + b"x*%04X" % crc16(longest + b"x")).kind, "damaged")

    def test_numbers(self):
        for text, value in (("0", 0), ("007", 7), ("-0", None), ("4294967296", None), ("+1", None), ("", None), ("1 ", None)):
            self.assertEqual(number(text, 0, 2**32 - 1), value, text)
        self.assertEqual(number("-12", -20, 20), -12)
        self.assertIsNone(number("0" * 19, 0, 9))

    def test_what_the_text_calls_damaged(self):
        for body in ("hello,0,0,1,,1,f", "hello,0,0,one,b,1,f", "pulse,0,0,256,0,1,1", "fault,0,0,-2,estop", "refused,0,0,",
                     "halted,0,0,", "drop,0,0,0,0,5", ",1,2", "@at,1", "travel,0,0,900000000000000001"):
            self.assertEqual(decode(encode(body)).kind, "damaged", body)
        self.assertEqual(decode(encode("halted,0,0")).name, "halted")

    def test_text_comes_back(self):
        self.assertEqual(unquote(quote(b"a,*%\x00\xff ~")), b"a,*%\x00\xff ~")


class Signatures(unittest.TestCase):
    def test_the_first_two_signatures_of_rfc_8032(self):  # section 7.1
        for key, message, signature in (
                ("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
                 "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
                 "d25bf5f0595bbe24655141438e7a100b"),
                ("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
                 "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
                 "387b2eaeb4302aeeb00d291612bb0c00")):
            parts = [bytes.fromhex(part) for part in (key, signature, message)]
            self.assertTrue(ed25519.verifies(*parts))
            self.assertFalse(ed25519.verifies(parts[0], parts[1], parts[2] + b"x"))

    def test_a_key_of_small_order_never_verifies(self):
        nobody = bytes([1]) + bytes(31)  # the neutral point
        self.assertFalse(ed25519.verifies(nobody, nobody + bytes(32), b"anything"))


class Logs(unittest.TestCase):
    def faults(self, *bodies, **rest):
        return " ".join(second_reader.read(sealed(*bodies, **rest))["faults"])

    def test_a_whole_run_is_complete_and_sound(self):
        found = second_reader.read(sealed(*RUN))
        self.assertEqual((found["complete"], found["sound"], found["reason_covered"], found["faults"]), (True, True, True, []))

    def test_each_thing_that_makes_a_log_incomplete_is_named(self):
        cases = {"no `hello`": RUN[:1] + RUN[2:], "no `started`": RUN[:6] + RUN[7:], "1 lines are missing": RUN[:8] + RUN[9:],
                 "drops of channel 0 are missing": RUN[:8] + ["drop,11,4,0,3,6,1"] + RUN[9:],
                 "a drop of channel 0 twice": RUN[:8] + ["drop,11,4,0,0,6,1"] + RUN[9:],
                 "reset in mid-run": RUN[:9] + ["hello,0,0,1,b2,1,f", "halted,1,5,count"],
                 "without `halted`": RUN[:9], "no `arm`": RUN[:2] + RUN[3:], "closed by count with {0: 1}": RUN[:8] + RUN[9:],
                 "2 lines lost": RUN[:9] + ["halted,12,5,count", "beat,13,5,0,2"], "out of order": RUN + ["beat,0,0,0,0"]}
        for part, bodies in cases.items():
            with self.subTest(part):
                self.assertIn(part, self.faults(*bodies))

    def test_a_reason_exchanged_after_sealing_is_noticed(self):
        self.assertIn("do not agree", self.faults(*RUN, close="@close,host,,"))

    def test_a_second_start_needs_its_own_confirmation_and_makes_only_what_is_left(self):
        stopped = [*RUN[:8], "halted,11,5,silent"]  # one of the two drops is made
        left = "@sent," + quote(encode("arm,single,100000,1,250000,1,1"))
        again = ["started,12,6", "drop,13,7,0,0,5,1", "halted,14,8,count", "@ending,count"]
        self.assertIn("without a confirmation", self.faults(*stopped, left, *again))
        self.assertEqual("", self.faults(*stopped, left, "@confirmed,2", *again))
        self.assertIn("closed by count with {0: 3} of {0: 2} drops", self.faults(
            *RUN[:-1], left, "@confirmed,2", "started,13,6", "drop,14,7,0,0,5,1", "halted,15,8,count", "@ending,count"))

    def test_conflicts_repeats_and_damage_are_told_apart(self):
        found = second_reader.read(sealed(*RUN, RUN[8], "drop,11,4,0,1,6,2", "@damaged,x"))
        self.assertEqual([found["lines"][kind] for kind in ("repeated", "conflicting", "damaged")], [1, 1, 1])

    def test_one_changed_byte_breaks_the_seal(self):
        log = sealed(*RUN)
        spoilt = log.replace(encode("drop,10,3,0,0,5,1"), encode("drop,10,3,0,0,6,1"))
        self.assertFalse(second_reader.read(spoilt)["seals"]["intact"])


if __name__ == "__main__":
    unittest.main()
