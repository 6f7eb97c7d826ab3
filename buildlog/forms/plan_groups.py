"""How the Plan form is laid out: its groups, and what each option is called there."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.plan.options import OPTIONS


@dataclass(frozen=True, slots=True)
class Label:
    """What stands at one field. ``unit`` "%" marks a share; lengths carry their unit in the text."""

    text: str
    unit: str = ""
    hint: str | None = None  # None = what the option says of itself


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together; ``more`` of them stay folded away until they are wanted."""

    key: str
    title: str
    names: tuple[str, ...]
    more: tuple[str, ...] = ()
    folded: bool = False


GROUPS = (
    Group("ball", "Ball", ("diameter", "pitch", "ring_spacing", "rings_count", "ribs"), ("snap_share",)),
    Group("openings", "Openings", ("top_pixels", "top_deg", "bottom_pixels", "bottom_deg")),
    Group(
        "strap",
        "Strap",
        ("max_segment", "min_segment"),
        ("strap_width", "edge_strain_limit", "seam_rib", "seam_stagger", "hand_pieces"),
    ),
    Group(
        "channels",
        "Channels",
        ("capacity", "outputs", "channel_cut"),
        (
            "spare_share", "start_from", "alternate", "box_deg", "box_rib", "box_outside", "lead_slack", "bit_ns",
            "bits", "reset_us",
        ),  # fmt: skip
    ),
    Group("closing", "Closing the way in", ("closing_rings", "closing_bays"), folded=True),
    Group("people", "People", ("people",), folded=True),
    Group("rolls", "Rolls and offcuts", ("roll", "rolls", "offcuts", "kerf_holes", "patch_pixels"), folded=True),
    Group("power", "Power", tuple(option.name for option in OPTIONS if option.group == "power"), folded=True),
    Group("mass", "Weight", tuple(option.name for option in OPTIONS if option.group == "mass"), folded=True),
    Group(
        "supplies", "Spares and prices", tuple(option.name for option in OPTIONS if option.group == "supplies"),
        folded=True,
    ),
)  # fmt: skip

LABELS = {
    "diameter": Label("Diameter", hint="At the pixels, like 2.6m or 8ft."),
    "pitch": Label("Pitch", hint="From pixel to pixel, like 30mm or 1in."),
    "ring_spacing": Label("Ring spacing", hint="From ring to ring along the surface."),
    "rings_count": Label("Rings", hint="How many, instead of the spacing."),
    "ribs": Label("Ribs", hint="Joints go to the nearest one."),
    "snap_share": Label("Move rings to whole pitches, by up to", "%", "Of the ring spacing; 0 leaves them."),
    "top_pixels": Label("First ring, pixels"),
    "top_deg": Label("First ring, angle", "°", "Instead of its pixels; 0° is the top."),
    "bottom_pixels": Label("Last ring, pixels"),
    "bottom_deg": Label("Last ring, angle", "°", "Up to 90° from the bottom, above from the top."),
    "max_segment": Label("Longest segment", "pixels", "What one person can carry and hang."),
    "min_segment": Label("Shortest segment", "pixels", ""),
    "seam_rib": Label("Seam at rib", hint="Where the rings close."),
    "seam_stagger": Label("Seam moves on by", "bays", "From each ring to the next; 0 = in line."),
    "strap_width": Label("Strap width", hint=""),
    "edge_strain_limit": Label("Edge strain, at most", "%", "How far the strap's edges may stretch."),
    "hand_pieces": Label("Rings cut by hand", hint="Ring: pieces, like 12: 50 48 48; 13: 60 60"),
    "closing_rings": Label("Closing rings", hint="The rings that close the way in, like 88-90."),
    "closing_bays": Label("Closing bays", hint="Only these bays: a door, like 7-9."),
    "capacity": Label("Most on one channel", "pixels", ""),
    "outputs": Label("Outputs", hint="Of all controllers together."),
    "spare_share": Label("Outputs kept spare", "%", ""),
    "channel_cut": Label("A channel may end", hint=""),
    "start_from": Label("Data begin at the", hint=""),
    "alternate": Label("Turn the other way on every second ring", hint=""),
    "people": Label("People who fit at once", hint="By stage: wire=2 test=2. A stage not named has no limit."),
    "box_deg": Label("Controller's box, angle", "°", "180° is at the bottom."),
    "box_rib": Label("Controller's box, rib", hint=""),
    "box_outside": Label("Wire from the box to the frame", hint=""),
    "lead_slack": Label("Slack of a lead wire", hint=""),
    "bit_ns": Label("Time of a bit", "ns", "1250 is 800 kbit/s."),
    "bits": Label("Bits a pixel", hint="24, or 32 with a white of its own."),
    "reset_us": Label("Reset time", "µs", ""),
    "roll": Label("Length of a roll", hint="Gives a cut list."),
    "rolls": Label("Rolls in stock", hint="Empty: as many as it takes."),
    "offcuts": Label("Offcuts in stock", hint="Like 3 x 1.2m; 900mm"),
    "kerf_holes": Label("Lost at each cut", "holes", ""),
    "patch_pixels": Label("Patch at a joint", "holes", "0 = no patches."),
    "volts": Label("Voltage of the pixels", "V", ""),
    "idle_ma": Label("Current of a dark pixel", "mA", ""),
    "full_ma": Label("Current at full white", "mA", "Above the dark one."),
    "brightness": Label("Brightness, at most", "%", "As limited in the controller."),
    "typical_share": Label("While content runs", "%", "Of that."),
    "least_volts": Label("Least voltage at a pixel", "V", ""),
    "feed_drop_volts": Label("Lost on the way to an injection", "V", ""),
    "hop": Label("Wire from pixel to pixel", hint="If longer than the pitch."),
    "wire_celsius": Label("Temperature of the wire", "°C", ""),
    "supply_watts": Label("Rating of a power supply", "W", ""),
    "supply_efficiency": Label("Its efficiency", "%", ""),
    "load_share": Label("Continuous load, at most", "%", "Of supplies and breakers."),
    "mains_volts": Label("Mains voltage", "V", ""),
    "breaker_amps": Label("Breaker", "A", ""),
    "box_rise_celsius": Label("Temperature rise in the box", "K", ""),
    "reading_pixels": Label("Pixels connected at the reading", hint="Empty: all."),
    "reading_idle": Label("Reading at rest", "W", "At the mains."),
    "reading_typical": Label("Reading while content runs", "W", "At the mains."),
    "reading_peak": Label("Reading at full brightness", "W", "At the mains."),
    "chain_wire": Label("Wire of the chain", hint="AWG 18 or 0.75 mm2"),
    "pixel_g": Label("A pixel", "g", "With its share of wire."),
    "strap_g_m": Label("A metre of strap", "g", ""),
    "lead_g_m": Label("A metre of lead wire", "g", ""),
    "frame_kg": Label("The frame", "kg", ""),
    "frame_height": Label("Height of the frame's centre", hint="Above the ball's lowest point; empty: the middle."),
    "service_level": Label("Chance that spares last", "%", ""),
    "failure_share": Label("Pixels expected to fail", "%", "Before any was tested."),
    "failure_weight": Label("That expectation counts for", "pixels", "Of testing."),
    "price_pixel": Label("Price of a pixel", hint=""),
    "price_roll": Label("Price of a roll of strap", hint=""),
    "price_supply": Label("Price of a power supply", hint=""),
    "price_output": Label("Price of a controller output", hint=""),
    "price_lead_m": Label("Price of a metre of lead wire", hint=""),
}

CHOICES = {
    "channel_cut": {"anywhere": "anywhere", "joints": "at a joint only", "rings": "at a ring's end only"},
    "start_from": {"top": "top", "bottom": "bottom"},
}
