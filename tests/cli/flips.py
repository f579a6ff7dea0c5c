"""What the commands say of a fleet file in which bits were turned over, or whose end is missing."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from click.testing import CliRunner

from fleetcare.cli.main import cli

PAGE = 4096
HEADER = 12  # bytes of a page that tell how the rest is laid out
AS_OF = "2026-07-18"
LOOKS = (("due", "--format", "json", "--as-of", AS_OF), ("log", "--all"))
REFUSED = (1, 4)  # in words


@dataclass
class Flips:
    """Tries one damage after another on a file; keeps how each ended."""

    path: Path
    whole: bytes
    ends: Counter[str] = field(default_factory=Counter)
    bad: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.path.write_bytes(self.whole)
        self.right = [self.type(*words) for words in LOOKS]
        assert [code for code, _, _ in self.right] == [0, 0]

    def type(self, *words: str) -> tuple[int, str, str]:
        done = CliRunner().invoke(cli, [*words, "--fleet", str(self.path)], prog_name="fleetcare")
        return done.exit_code, done.stdout, done.stderr

    def try_(self, data: bytes, what: str, thorough: bool = False) -> None:
        """One damage: told of, or without effect, or at least seen by check.

        A thorough look asks check also where the answers were right.
        """
        ends = []
        for words, right in zip(LOOKS, self.right, strict=True):
            self.path.write_bytes(data)
            code, out, err = self.type(*words)
            if code in REFUSED and err.startswith("fleetcare: ") and "Traceback" not in err:
                ends.append("said")
            elif code == 0 and out == right[1]:
                ends.append("right")
            elif code == 0:
                ends.append("wrong")
            else:
                self.bad.append(f"{what}: {words[0]} ends with {code}: {err[:300]}")
        if "wrong" in ends or (thorough and "said" not in ends):
            self.path.write_bytes(data)
            code, _, err = self.type("check")
            if code in REFUSED and err.startswith("fleetcare: check: "):
                ends.append("seen by check")
            elif "wrong" in ends:
                self.bad.append(f"{what}: a wrong answer that check does not see ({code}) {err}")
        self.ends[ends[-1] if ends else "bad"] += 1

    def flip(self, bits: Iterable[int], thorough: bool = False) -> None:
        """Turn over one bit after another, each in the whole file."""
        for bit in bits:
            data = bytearray(self.whole)
            data[bit // 8] ^= 1 << bit % 8
            self.try_(
                bytes(data),
                f"bit {bit % 8} of byte {bit // 8}, page {bit // 8 // PAGE + 1}",
                thorough,
            )

    def cut(self, lengths: Iterable[int]) -> None:
        """Cut the file off."""
        for length in lengths:
            self.try_(self.whole[:length], f"cut to {length} bytes")


def header_bits(whole: bytes, a_page: int, chance: random.Random) -> list[int]:
    """So many bits of the header of every page."""
    bits = []
    for page in range(len(whole) // PAGE):
        start = page * PAGE + (100 if page == 0 else 0)  # the file's own header comes first
        bits += [8 * start + bit for bit in chance.sample(range(8 * HEADER), a_page)]
    return bits
