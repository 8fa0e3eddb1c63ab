"""A real house for each test module: the program that FLOORBELL_BIN names, on an empty data folder."""

import os
import re
import socket
import subprocess

import pytest

from device import Device, ask_http

PASSPHRASE = "the tide waits for nobody"


class House:
    """A running server, set up through the link that it prints."""

    def __init__(self, data):
        program = os.environ.get("FLOORBELL_BIN")
        assert program and os.path.isfile(program), (
            "FLOORBELL_BIN names the program to test: run `make test-python`."
        )
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.base = f"http://127.0.0.1:{self.port}"
        self.server = subprocess.Popen(
            [program, "serve", "--data", str(data), "--listen", f"127.0.0.1:{self.port}"],
            stdout=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
            env={**os.environ, "FLOORBELL_LOG": "warn"},
        )
        token = None
        for line in self.server.stdout:
            if found := re.search(r"#set-up=(\S+)", line):
                token = found.group(1)
            if "Ctrl-C" in line:
                break
        else:
            raise AssertionError(f"the server has ended: {self.server.poll()}")
        body = {"token": token, "passphrase": PASSPHRASE}
        self.coach_token = ask_http(self.base, "POST", "/api/set-up", body)["token"]

    def open(self, sheet):
        """Opens a class of a sheet's text."""
        ask_http(self.base, "PUT", "/api/sheets/tonight", sheet, self.coach_token)
        return ask_http(self.base, "POST", "/api/classes", {"sheet": "tonight"}, self.coach_token)

    def coach(self):
        """A coach device that knows the class and the time."""
        return ready(Device(self.base, "coach", self.coach_token))

    def join(self, code, name):
        """A phone that has come in by the class code, and the token that it got."""
        joined = ask_http(self.base, "POST", "/api/join", {"code": code, "name": name})
        return ready(Device(self.base, "athlete", joined["token"])), joined["token"]

    def stop(self):
        """Ends the server."""
        self.server.terminate()
        assert self.server.wait(30) == 0
        self.server.stdout.close()


def ready(device):
    """A device that has heard the state and knows the time."""
    device.until("the state", lambda: device.state)
    device.exchange()
    return device


@pytest.fixture
def house(tmp_path):
    """A house for one test."""
    running = House(tmp_path)
    yield running
    running.stop()
