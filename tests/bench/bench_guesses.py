"""Ticks beside two dozen browsers that guess passwords, against ticks beside as many that fetch a trivial page.

The same server, database and tablets as in bench_ticks, with all the app's addresses. Guesses go by turns at one
account that exists and at many that do not; a page is the sign-in form. The pace of ticks is the middle of rounds by
turns. The lead, on a browser that signed in before, signs in at the end of every round of guesses, beside them.
"""

from __future__ import annotations

import http.client
import itertools
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

from tests.bench import Figure
from tests.bench.bench_ticks import AT_ONCE, _environment, _measure, _prepare, _Served, _ticking

STRANGERS, ROUNDS, SECONDS_BEFORE = 24, 15, 0.5
TOKEN = "a" * 32
NAME, PASSWORD = "demo-lead", "barn-owl-4711"
Answer = tuple[int, dict[str, str]]


def figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory(prefix="buildlog-bench-") as folder:
        workers = _prepare(Path(folder))
        _give_password()
        environment = _environment(Path(folder)) | {"FLOOR_ADDRESSES": "buildlog.urls"}
        with _Served(environment) as port:
            yield from _by_turns(port, [_ticking(workers) for _ in range(AT_ONCE)])


def _by_turns(port: int, asks: list) -> Iterator[Figure]:
    known, (status, _) = _sign_in(port)
    assert status == 302, status
    answers: Counter[int] = Counter()
    pages, guesses = [], []
    waits: list[float] = []
    _measure(port, asks)
    for _ in range(ROUNDS):
        with _beside(port, _page, Counter()):
            pages.append(_measure(port, asks))
        with _beside(port, _guess, answers):
            guesses.append(_measure(port, asks))
            waits.append(_time_of(lambda: _sign_in(port, known)[1][0]))  # ticks rest: its hash would count as guesses
    ratios = [guess.rate / page.rate for guess, page in zip(guesses, pages, strict=True)]
    yield Figure(f"ticks beside {STRANGERS} browsers that fetch a page", median(one.rate for one in pages), "1/s")
    yield Figure(f"ticks beside {STRANGERS} that guess, in the same", median(ratios), "×")
    yield Figure("the same, least and most", min(ratios), f"to {max(ratios):.2f} ×")
    yield Figure("tick, 95 of 100 within, beside guesses", median(one.p95 for one in guesses) * 1000, "ms")
    yield Figure("guesses answered", sum(answers.values()), f"of which looked at or locked {answers[422]}")
    yield Figure("the lead signs in meanwhile, at most after", max(waits) * 1000, "ms")


def _give_password() -> None:
    from django.contrib.auth.hashers import Argon2PasswordHasher
    from django.contrib.auth.models import User
    from django.db import connection

    hasher = Argon2PasswordHasher()
    User.objects.filter(username=NAME).update(password=hasher.encode(PASSWORD, hasher.salt()))
    connection.close()


@contextmanager
def _beside(port: int, ask: Callable[[int, int], int], answers: Counter[int]) -> Iterator[None]:
    over = threading.Event()

    def one(number: int) -> None:
        while not over.is_set():
            answers[ask(port, number)] += 1

    threads = [threading.Thread(target=one, args=[number]) for number in range(STRANGERS)]
    for thread in threads:
        thread.start()
    time.sleep(SECONDS_BEFORE)
    try:
        yield
    finally:
        over.set()
        for thread in threads:
            thread.join()


def _time_of(sign_in: Callable[[], int]) -> float:
    begun = time.perf_counter()
    status = sign_in()
    assert status == 302, f"the lead was answered with {status}"
    return time.perf_counter() - begun


def _page(port: int, number: int) -> int:
    return _ask(port, "GET", "/sign-in/")[0]


_turns = itertools.count()


def _guess(port: int, number: int) -> int:
    name = NAME if number % 2 else f"nobody {next(_turns)}"
    return _post(port, name, "password1", "")[0]


def _sign_in(port: int, known: str = "") -> tuple[str, Answer]:
    answer = _post(port, NAME, PASSWORD, known)
    return next((part for part in answer[1].get("set-cookie", "").split("\n") if part.startswith("known=")), ""), answer


def _post(port: int, name: str, password: str, known: str) -> Answer:
    body = urlencode({"username": name, "password": password, "csrfmiddlewaretoken": TOKEN})
    cookies = "; ".join(filter(None, [f"csrftoken={TOKEN}", known.partition(";")[0]]))
    return _ask(
        port, "POST", "/sign-in/", body, {"Cookie": cookies, "Content-Type": "application/x-www-form-urlencoded"}
    )


def _ask(port: int, method: str, path: str, body: str = "", headers: dict[str, str] | None = None) -> Answer:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    try:
        connection.request(method, path, body, headers or {})
        answer = connection.getresponse()
        answer.read()
        cookies = "\n".join(value for name, value in answer.getheaders() if name.lower() == "set-cookie")
        return answer.status, {"set-cookie": cookies}
    finally:
        connection.close()
