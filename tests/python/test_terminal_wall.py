"""The wall in a real terminal: what it sends there, and that the terminal is given back as it was."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time

import pytest

from device import PATIENCE_SECONDS

# Between two words stand blanks, or the cursor is placed anew.
GAP = r"(?:\x1b\[[\d;]*[Hm]| )+"
SHEET = "# Terminal\n\n## Tide: AMRAP 4 min\n\n- 11 squat\n- 8 push-up\n"


class Terminal:
    """The program in a pseudo-terminal of 80 by 24."""

    def __init__(self, house, data):
        self.own, its = pty.openpty()
        self.resize(80, 24)
        self.before = termios.tcgetattr(its)
        self.its = its
        self.sent = ""
        self.program = subprocess.Popen(
            [os.environ["FLOORBELL_BIN"], "wall", house.base, "--data", str(data)],
            stdin=its,
            stdout=its,
            stderr=its,
            start_new_session=True,
        )

    def resize(self, columns, rows):
        """Gives the terminal another size."""
        fcntl.ioctl(self.own, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def until(self, pattern):
        """Reads until the pattern was sent after all that was waited for before; gives what matched."""
        pattern = pattern.replace(" ", GAP)
        deadline = time.monotonic() + PATIENCE_SECONDS
        while not (found := re.search(pattern, self.sent, re.DOTALL)):
            left = deadline - time.monotonic()
            ready, _, _ = select.select([self.own], [], [], max(0, left))
            assert ready, f"{pattern!r} was not sent: {self.sent!r}"
            self.sent += os.read(self.own, 65536).decode(errors="replace")
        self.sent = self.sent[found.end() :]
        return found

    def press(self, key):
        """Presses a key."""
        os.write(self.own, key)

    def ended(self):
        """Waits until the program has ended, and gives its exit code; the terminal is as it was."""
        self.until(r"\x1b\[\?7h\x1b\[\?25h\x1b\[\?1049l")
        code = self.program.wait(PATIENCE_SECONDS)
        assert termios.tcgetattr(self.its) == self.before
        return code


@pytest.fixture
def terminal(house, tmp_path):
    """A wall in a terminal that has asked to be let in, and a coach device."""
    house.open(SHEET)
    started = Terminal(house, tmp_path / "state")
    try:
        with house.coach() as coach:
            number = started.until(r"Wall (\d+): let it in on the coach device\.").group(1)
            answer = coach.ask("wall", number=int(number), accept=True)
            assert answer["outcome"] == "done"
            yield started, coach
    finally:
        started.program.kill()
        started.program.wait()


def test_shows_large_digits_and_gives_the_terminal_back(terminal):
    wall, coach = terminal
    wall.until("Scan to come in")
    coach.call("start")
    told = wall.until("Lead-in.*▀▀.*Next: Work 4:00").group(0)
    coach.call("next")
    told += wall.until("Work.*end of the class").group(0)
    # Only what has changed was sent, and no bell.
    assert "\x1b[2J" not in told and "\x07" not in told
    wall.resize(120, 40)
    os.kill(wall.program.pid, signal.SIGWINCH)
    wall.until(r"\x1b\[2J.*Work.*▀▀.*\x1b\[40;1H")
    wall.press(b"q")
    assert wall.ended() == 0


def test_ends_by_ctrl_c_as_well(terminal):
    wall, _ = terminal
    wall.until("Scan to come in")
    os.kill(wall.program.pid, signal.SIGINT)
    assert wall.ended() == 0
