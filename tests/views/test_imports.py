"""A file on its way in: how far it is, that it can be cancelled, that it leaves nothing then, that it comes alone."""

from __future__ import annotations

import threading
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog import imports
from buildlog.imports import Busy, Cancelled, Import, alone
from buildlog.loading import load
from tests.management.test_lines import refused
from tests.people import MONDAY

pytestmark = pytest.mark.django_db
ROWS = "name,stage,start,end\n" + "".join(
    f"Marek,mount,2026-03-02 {hour:02}:00,2026-03-02 {hour:02}:30\n" for hour in range(9)
)


def url(name: str, *more: object) -> str:
    return reverse(name, args=["SHED", *more])


def file(text: str = ROWS) -> SimpleUploadedFile:
    return SimpleUploadedFile("stints.csv", text.encode())


@pytest.fixture(autouse=True)
def said_at_once(monkeypatch):
    monkeypatch.setattr(imports, "EVERY_S", 0.0)


def test_how_far_it_is_is_shown_while_rows_are_taken_and_not_after(shed, lead, helper, sign_in):
    client, made, shown = sign_in(lead), Import(uuid4()), []

    def watch(taken: int, rows: int) -> None:
        made(taken, rows)
        shown.append(client.get(url("load_progress", made.id)).content.decode())

    with alone(made):
        assert "Reading the file" in client.get(url("load_progress", made.id)).content.decode()
        number, _ = load("stints", ROWS.encode(), build=shed, by=lead, now=MONDAY.replace(year=2027), watch=watch)
    assert number == len(shown) == 9 and "4 of 9 rows checked" in shown[4]
    assert client.get(url("load_progress", made.id)).status_code == 204


def test_cancelled_in_the_middle_it_leaves_nothing_behind(shed, lead, helper, sign_in):
    client, made = sign_in(lead), Import(uuid4())

    def watch(taken: int, rows: int) -> None:
        if taken == 5:
            assert shed.stints.count() == 5
            assert client.post(url("load_cancel", made.id)).status_code == 204
        made(taken, rows)

    with pytest.raises(Cancelled, match="Nothing was imported"), alone(made):
        load("stints", ROWS.encode(), build=shed, by=lead, now=MONDAY.replace(year=2027), watch=watch)
    assert shed.stints.count() == 0 and not shed.records.filter(verb="load").exists()
    with alone(Import(uuid4())):
        pass  # the next one is not kept out, nor cancelled


def test_the_page_says_that_it_was_cancelled(shed, lead, helper, sign_in, monkeypatch):
    def cancelled(made: Import, taken: int, rows: int) -> None:
        raise Cancelled(imports.CANCELLED)

    monkeypatch.setattr(Import, "__call__", cancelled)
    answer = sign_in(lead).post(url("load", "stints"), {"file": file()}, follow=True)
    assert "The import was cancelled. Nothing was imported." in answer.content.decode()
    assert shed.stints.count() == 0


def test_a_second_file_is_told_to_come_later(shed, lead, helper, sign_in):
    client = sign_in(lead)
    held, done = threading.Event(), threading.Event()

    def other() -> None:
        with alone(Import(uuid4())):
            held.set()
            done.wait(30)

    thread = threading.Thread(target=other)
    thread.start()
    try:
        assert held.wait(30)
        answer = client.post(url("load", "stints"), {"file": file()})
        assert answer.status_code == 503 and "Another file is being imported." in answer.content.decode()
        with pytest.raises(Busy), alone(Import(uuid4())):
            pass
    finally:
        done.set()
        thread.join()
    assert client.post(url("load", "stints"), {"file": file()}).status_code == 302


def test_what_a_process_left_that_ended_in_the_middle_is_removed(shed):
    left = Import(uuid4())
    left(3, 9)
    with alone(Import(uuid4())):
        assert left.progress() is None


def test_nothing_that_is_not_running_can_be_cancelled(shed, lead, sign_in):
    made = Import(uuid4())
    assert sign_in(lead).post(url("load_cancel", made.id)).status_code == 204
    with alone(made):
        made(1, 2)  # was not stopped by a wish from before


def test_ctrl_c_leaves_nothing_behind(shed, helper, tmp_path, monkeypatch):
    def interrupted(made: Import, taken: int, rows: int) -> None:
        if taken == 5:
            raise KeyboardInterrupt

    (tmp_path / "stints.csv").write_text(ROWS)
    monkeypatch.setattr(Import, "__call__", interrupted)
    (line,) = refused("load", "stints", tmp_path / "stints.csv", "--build", "SHED")
    assert line.endswith("The import was cancelled. Nothing was imported.")
    assert shed.stints.count() == 0


def test_a_pipe_without_an_end_is_read_up_to_the_largest_file(shed):
    (line,) = refused("load", "stints", "/dev/zero", "--build", "SHED")
    assert "more than 20 MB" in line
