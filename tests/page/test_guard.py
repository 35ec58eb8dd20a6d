"""The rules at the door, asked by raw sockets: a browser would hide what it sends."""

import asyncio
import re
import socket
import subprocess
import threading
import time
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

import pytest
from commandline import files_in

from jiggen.page import guard as rules
from jiggen.page.answers import Bench
from jiggen.page.guard import ALWAYS, BODY_MOST
from jiggen.page.serve import Server
from jiggen.page.store import Store


def sent(
    server: Server, *lines: str, body: bytes = b"", host: str = "own", wait: float = 5.0
) -> str:
    """Send lines and a body as they are; return all that comes back, head and body."""
    port = server.socket.getsockname()[1]
    head = [lines[0], *([f"Host: 127.0.0.1:{port}"] if host == "own" else []), *lines[1:]]
    with socket.create_connection(("127.0.0.1", port), timeout=wait) as link:
        link.sendall("\r\n".join([*head, "", ""]).encode("latin-1") + body)
        parts = []
        while part := link.recv(65536):
            parts.append(part)
    return b"".join(parts).decode("utf-8", "replace")


def status(answer: str) -> int:
    """Return the status of an answer."""
    return int(answer.split(" ", 2)[1])


@pytest.fixture
def cookie(server: Server) -> str:
    """Return the line that a browser sends after the first address."""
    answer = sent(server, f"GET /?t={server.guard.token} HTTP/1.1", "Connection: close")
    found = re.search(r"set-cookie: (jiggen-\d+=[^;]+)", answer)
    assert found is not None
    return f"Cookie: {found[1]}"


def posted(server: Server, cookie: str, path: str, *lines: str, body: bytes = b"") -> str:
    """Post as the page does, but for what `lines` say otherwise; a bare name is left out."""
    own = f"http://{server.guard.host}"
    usual = {"Origin": own, "Sec-Fetch-Site": "same-origin", "Content-Length": str(len(body))}
    for line in lines:
        name, _, value = line.partition(": ")
        if value:
            usual[name] = value
        else:
            usual.pop(name, None)
    rows = [f"{name}: {value}" for name, value in usual.items()]
    return sent(server, f"POST {path} HTTP/1.1", cookie, "Connection: close", *rows, body=body)


def test_it_listens_on_loopback_only_before_its_address_is_known(bench: Bench) -> None:
    """A builder's numbers are nobody else's; and a fast browser must not be refused."""
    server = Server(lambda: bench)
    name, port = server.socket.getsockname()
    assert name == "127.0.0.1"
    assert server.address == f"http://127.0.0.1:{port}/?t={server.guard.token}"
    with socket.create_connection(("127.0.0.1", port), timeout=5.0):
        pass  # it listens, though nothing runs yet
    listed = Path("/proc/net/tcp").read_text() + Path("/proc/net/tcp6").read_text()
    mine = [row.split()[1] for row in listed.splitlines() if f":{port:04X} " in row.split("st")[0]]
    here = {place for place in mine if place.endswith(f":{port:04X}")}
    assert here == {f"0100007F:{port:04X}"}
    server.socket.close()


def test_no_option_changes_the_address() -> None:
    """What nobody can switch on nobody switches on by mistake."""
    import inspect

    from jiggen.page.command import bench

    assert set(inspect.signature(bench).parameters) == {"job", "no_open"}
    assert set(inspect.signature(Server).parameters) == {"load", "idle"}


def test_the_first_address_gives_a_cookie_and_loses_its_secret(server: Server) -> None:
    """The address bar is what gets photographed."""
    assert len(server.guard.token) >= 32  # 192 bits in base64
    answer = sent(server, f"GET /?t={server.guard.token} HTTP/1.1", "Connection: close")
    assert status(answer) == 303
    assert re.search(r"^location: /\r$", answer, re.MULTILINE)
    line = re.search(r"^set-cookie: (.*)\r$", answer, re.MULTILINE)
    assert line is not None
    port = server.socket.getsockname()[1]
    assert line[1].startswith(f"jiggen-{port}=")
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= set(line[1].split("; "))


@pytest.mark.parametrize(
    "lines",
    [
        ["GET /measure HTTP/1.1"],
        ["GET /own/style.css HTTP/1.1"],
        ["GET /?t= HTTP/1.1"],
        ["GET /?t=wrong HTTP/1.1"],
        ["GET /measure HTTP/1.1", "Cookie: jiggen-1=x"],
    ],
)
def test_without_cookie_or_with_a_wrong_token_nothing_is_shown(
    server: Server, lines: list[str]
) -> None:
    """Every page and file, not only the first."""
    answer = sent(server, *lines, "Connection: close")
    assert status(answer) == 403
    assert "set-cookie" not in answer
    assert "depth" not in answer


def test_two_cookies_of_the_name_are_none(server: Server, cookie: str) -> None:
    """One of them was put there by somebody else."""
    other = cookie.split("=")[0] + "=x"
    assert status(sent(server, "GET /measure HTTP/1.1", cookie, "Connection: close")) == 200
    for lines in (
        [cookie, other],
        [other, cookie],
        [f"{cookie}; {other.removeprefix('Cookie: ')}"],
    ):
        assert status(sent(server, "GET /measure HTTP/1.1", *lines, "Connection: close")) == 403


@pytest.mark.parametrize(
    "hosts",
    [
        ["localhost:{port}"],
        ["evil.example:{port}"],
        ["127.0.0.1"],
        ["127.0.0.1:80"],
        ["127.0.0.1:{port}."],
        ["[::1]:{port}"],
        ["127.0.0.1:{port}", "evil.example"],
        ["evil.example", "127.0.0.1:{port}"],
        ["127.0.0.1:{port}", "127.0.0.1:{port}"],
        [],
    ],
)
def test_another_name_for_this_machine_is_refused(
    server: Server, cookie: str, hosts: list[str]
) -> None:
    """A site whose name is made to point here would be let in by its own cookie rules."""
    port = server.socket.getsockname()[1]
    lines = [f"Host: {host.format(port=port)}" for host in hosts]
    answer = sent(server, "GET /measure HTTP/1.1", *lines, cookie, "Connection: close", host="")
    assert status(answer) in ((421,) if len(hosts) == 1 else (400, 421))
    assert "depth" not in answer


def test_two_host_lines_are_refused_by_the_guard_itself() -> None:
    """The server's parser refuses them first; another parser might not."""
    answers: list[int] = []

    async def app(*_: object) -> None:
        answers.append(200)

    async def send(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            answers.append(message["status"])

    async def receive() -> MutableMapping[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    guard = rules.Guard(app, 4000)
    own, cookie = (b"host", b"127.0.0.1:4000"), f"{guard.cookie}={guard.token}".encode()
    for hosts in ([own], [own, own], [own, (b"host", b"evil.example")], []):
        scope = {"type": "http", "method": "GET", "path": "/measure", "query_string": b""}
        scope |= {"headers": [*hosts, (b"cookie", cookie)]}
        asyncio.run(guard(scope, receive, send))
    assert answers == [200, 421, 421, 421]


@pytest.mark.parametrize(
    "line",
    [
        "Origin",
        "Origin: null",
        "Origin: http://evil.example",
        "Origin: http://localhost:{port}",
        "Origin: https://127.0.0.1:{port}",
        "Origin: http://127.0.0.1:1",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
        "Sec-Fetch-Site: none",
    ],
)
def test_a_form_of_another_site_is_refused(
    server: Server, cookie: str, job: Path, line: str
) -> None:
    """Another page in the same browser has the cookie's company, not our origin."""
    port = server.socket.getsockname()[1]
    before = files_in(job.parent)
    for path in ("/save", "/undo", "/make", "/put", "/stop", "/try", "/new"):
        assert status(posted(server, cookie, path, line.format(port=port))) == 403
    assert files_in(job.parent) == before
    assert status(sent(server, "GET /measure HTTP/1.1", cookie, "Connection: close")) == 200


def test_a_page_that_is_asked_for_by_another_site_is_refused(server: Server, cookie: str) -> None:
    """Another program on this machine is the same site to a browser, on another port."""
    for site, wanted in (("same-site", 403), ("cross-site", 403), ("none", 200)):
        line = f"Sec-Fetch-Site: {site}"
        answer = sent(server, "GET /measure HTTP/1.1", cookie, line, "Connection: close")
        assert status(answer) == wanted


@pytest.mark.parametrize("path", ["/", "/measure", "/edge", "/own/style.css", "/none", "/?t=x"])
def test_every_answer_has_the_headers(server: Server, cookie: str, path: str) -> None:
    """Refusals too."""
    for lines in ([cookie], []):
        answer = sent(server, f"GET {path} HTTP/1.1", *lines, "Connection: close")
        head = answer.partition("\r\n\r\n")[0].lower()
        for name, value in ALWAYS.items():
            assert f"\r\n{name.lower()}: {value.lower()}" in f"{head}\r\n"
        assert "server:" not in head


def test_the_policies_are_those_that_were_decided() -> None:
    """The words of the rules, not only that some stand there."""
    policy = dict(part.split(" ", 1) for part in ALWAYS["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert {policy[f"{what}-src"] for what in ("script", "style", "img", "connect")} == {"'self'"}
    assert policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in str(policy)
    assert ALWAYS["Referrer-Policy"] == "same-origin"
    assert ALWAYS["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("lines", "body", "wanted"),
    [
        (["Content-Length"], b"", 411),
        (["Content-Length", "Transfer-Encoding: chunked"], b"3\r\na=1\r\n0\r\n\r\n", 411),
        ([f"Content-Length: {BODY_MOST + 1}"], b"", 413),
        (["Content-Length: 99999999999999"], b"", 413),
        (["Content-Length: -1"], b"", 400),
        (["Content-Length: 1e3"], b"", 400),
    ],
)
def test_a_body_without_a_fair_length_is_refused_before_it_is_read(
    server: Server, cookie: str, lines: list[str], body: bytes, wanted: int
) -> None:
    """Nobody fills the memory through a form."""
    assert status(posted(server, cookie, "/try", *lines, body=body)) == wanted


def test_a_page_is_not_asked_for_in_chunks(server: Server, cookie: str) -> None:
    """What announces no length is not read at all."""
    lines = [cookie, "Transfer-Encoding: chunked", "Connection: close"]
    assert status(sent(server, "GET /measure HTTP/1.1", *lines, body=b"0\r\n\r\n")) == 411


def test_the_largest_body_is_read(server: Server, cookie: str) -> None:
    """The limit is where it was said to be."""
    most = b"x=" + b"a" * (BODY_MOST - 2)
    assert status(posted(server, cookie, "/try", body=most)) == 400  # read, and of no screen
    line = f"Content-Length: {BODY_MOST + 1}"
    assert status(posted(server, cookie, "/try", line)) == 413


def test_a_body_that_does_not_come_is_given_up(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five seconds, here a fifth of one."""
    assert rules.BODY_SECONDS == 5.0
    server = Server(lambda: bench)
    monkeypatch.setattr(server.guard, "seconds", 0.2)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    cookie = f"Cookie: {server.guard.cookie}={server.guard.token}"
    lines = [
        "POST /try HTTP/1.1", f"Host: {server.guard.host}", f"Origin: http://{server.guard.host}",
        cookie, "Content-Length: 10", "", "ab",
    ]  # fmt: skip
    with socket.create_connection(server.socket.getsockname(), timeout=5.0) as link:
        link.sendall("\r\n".join(lines).encode())
        answer = link.recv(65536).decode()
    assert status(answer) == 408
    server.stop()
    thread.join(10.0)
    assert not thread.is_alive()


@pytest.mark.parametrize(
    "path",
    [
        "/own/..%2f..%2fanswers.py", "/own/../answers.py", "/file/..%2ftrial.toml",
        "/own/%2e%2e/frame.py", "//etc/passwd", "/own//etc/passwd", "/file/%2Fetc%2Fpasswd",
        "/measure/..", "/own/style.css%00", "/own/",
        "/picture/..%2f..%2ftrial.toml", "/picture//etc/passwd",
    ],
)  # fmt: skip
def test_no_path_leads_to_a_file(server: Server, cookie: str, path: str) -> None:
    """Names are looked up in a table; none is ever opened."""
    answer = sent(server, f"GET {path} HTTP/1.1", cookie, "Connection: close")
    assert status(answer) == 404
    assert "import" not in answer
    assert "root:" not in answer


@pytest.mark.parametrize(
    "method", ["PUT", "DELETE", "OPTIONS", "HEAD", "TRACE", "PATCH", "CONNECT"]
)
def test_other_methods_are_refused(server: Server, cookie: str, method: str) -> None:
    """No question of another site gets a yes before it asks."""
    answer = sent(server, f"{method} /measure HTTP/1.1", cookie, "Connection: close")
    assert status(answer) == 405
    assert "access-control" not in answer.lower()


def test_a_web_socket_is_not_opened(server: Server, cookie: str) -> None:
    """There is none to be had."""
    lines = ["Upgrade: websocket", "Connection: Upgrade, close", "Sec-WebSocket-Version: 13"]
    key = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ=="
    answer = sent(server, "GET /measure HTTP/1.1", cookie, *lines, key)
    assert status(answer) != 101


def test_an_idle_bench_ends_but_never_while_files_are_drawn(bench: Bench) -> None:
    """Half an hour without a request; here a third of a second."""
    server = Server(lambda: bench, idle=0.3)
    held = threading.Event()

    def drawing(progress: object) -> None:
        held.wait(30.0)

    bench.jigs.making.start("", drawing)  # type: ignore[arg-type]
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    time.sleep(1.5)
    assert thread.is_alive()
    held.set()
    thread.join(10.0)
    assert not thread.is_alive()


def test_end_on_the_page_ends_it_but_not_while_files_are_drawn(
    server: Server, bench: Bench, cookie: str
) -> None:
    """A press at the wrong moment must not cost the files."""
    held = threading.Event()
    bench.jigs.making.start("", lambda progress: held.wait(30.0))  # type: ignore[arg-type,return-value]
    assert status(posted(server, cookie, "/stop")) == 409
    assert not bench.is_over
    held.set()
    bench.jigs.making.wait(10.0)
    assert status(posted(server, cookie, "/stop")) == 200
    assert bench.is_over


def test_nothing_of_what_is_typed_is_logged(
    server: Server, cookie: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """Nor are broken requests."""
    posted(server, cookie, "/try", body=b"secret-reading=1")
    sent(server, "NONSENSE secret-reading", "Connection: close")
    said = capfd.readouterr()
    assert said.out + said.err == ""


def test_a_file_with_letters_of_another_script_can_be_taken_away(
    server: Server, cookie: str, job: Path, bench: Bench
) -> None:
    """The job's name is its builder's, and so is the name of the ZIP."""
    job.write_text(
        job.read_text().replace("Airbrake edge, trial piece", "H\u00f6henruder \u5de6"), "utf-8"
    )
    bench.jigs.start(job, Store(job).read())
    bench.jigs.making.wait(60.0)
    answer = sent(server, "GET /file/all.zip HTTP/1.1", cookie, "Connection: close")
    assert status(answer) == 200
    named = "filename*=UTF-8''h%C3%B6henruder-%E5%B7%A6-jigs.zip"
    assert named in answer.partition("\r\n\r\n")[0]


def test_the_socket_list_of_the_system_says_the_same(server: Server) -> None:
    """Another program's word for it."""
    port = server.socket.getsockname()[1]
    done = subprocess.run(
        ["cat", "/proc/net/tcp"], capture_output=True, text=True, check=True, timeout=10
    )
    assert f"00000000:{port:04X}" not in done.stdout
