from buildlog.core.work.labels import SegmentLabel


def test_a_label_says_what_there_is_to_say():
    assert SegmentLabel("R1-1", "K", 40).lines == ("40 pixels",)
    assert SegmentLabel("R1-1", "K", 40, True).lines == ("40 pixels", "closes the way in")
    assert SegmentLabel("R1-1", "K", 40, channels=(3,)).lines == ("40 pixels", "channel 3")
