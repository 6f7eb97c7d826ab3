from buildlog.core.work.detail import Detail, steps_of
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.order import CloseInState, RunLink, SegmentProgress
from buildlog.core.work.stages import Stage

CELL = MapCell("R3-1", 3, 1, 40, 0, 90)


def detail(done: dict[Stage, int], closing: bool = False, links=(), close_in=None) -> Detail:
    return Detail(CELL, 9, steps_of(SegmentProgress("R3-1", 40, closing, done), links, close_in), tuple(links))


def test_what_can_be_done_now_is_offered_furthest_first():
    offers = detail({Stage.POPULATE: 30, Stage.MOUNT: 10}).next_steps
    assert [(step.stage, step.open) for step in offers] == [(Stage.WIRE, 10), (Stage.MOUNT, 20), (Stage.POPULATE, 10)]


def test_the_order_of_the_stages_alone_needs_no_words():
    assert detail({}).needs is None


def test_a_chain_that_is_cut_is_said():
    wired = {Stage.POPULATE: 40, Stage.MOUNT: 40, Stage.WIRE: 40}
    cut = detail(wired, links=[RunLink(4, 1, 40, ("R2-1",))])
    assert cut.next_steps == ()
    assert cut.needs.values["channel"] == 4


def test_a_closing_segment_goes_its_own_way_and_says_what_the_way_in_lacks():
    held = detail({Stage.POPULATE: 40, Stage.WIRE: 40}, closing=True, close_in=CloseInState(unwired=2))
    assert [step.stage for step in held.steps] == [Stage.POPULATE, Stage.WIRE, Stage.MOUNT, Stage.TEST]
    assert held.needs.template == "{code} closes the way in. Still missing: {missing}."


def test_a_segment_that_is_done_offers_nothing():
    finished = detail(dict.fromkeys(Stage, 40))
    assert finished.finished
    assert not finished.next_steps
    assert finished.begun


def test_a_step_says_how_much_has_passed():
    first, second, *_ = detail({Stage.POPULATE: 40, Stage.MOUNT: 10}).steps
    assert (first.share, first.passed, second.share, second.passed) == (1.0, True, 0.25, False)
