"""The boxes of the brief's page: which field of the TOML each one holds, what it is called, and what may be written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from wareboard.plan.kiln_words import BUILDS
from wareboard.plan.stages import KINDS_OF_FORM as KINDS
from wareboard.plan.stages import STAGES, TASKS
from wareboard.studio.paper_text import PaperText, Path

DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
SHAPES = ("cylinder", "taper", "belly", "bowl", "plate", "jug", "jar", "teapot")


@dataclass(frozen=True, slots=True)
class Box:
    """One box of a page: its key within a section, label, kind, an example, a line of help, and its choices."""

    key: str
    label: str
    kind: str = "words"  # words, count, number, day, flag, names, long, amounts, choice
    example: str = ""
    help: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    wide: bool = False
    long: bool = False
    known: tuple[str, ...] = ()  # the names that an amount may bear, where others would be passed over in silence

    def path(self, stem: Path) -> Path:
        return (*stem, *self.key.split("."))


@dataclass(slots=True)
class Filled:
    """A box with what stands in it, and what is wrong with that."""

    box: Box
    path: Path
    value: str
    errors: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        return ".".join(str(part) for part in self.path)

    @property
    def id(self) -> str:
        return "-".join(str(part) for part in self.path).replace("_", "-")

    @property
    def is_day(self) -> bool:
        """Whether a day box can show it; what is no day stays as it was typed, in a plain box."""
        return self.box.kind == "day" and (not self.value or DAY.fullmatch(self.value) is not None)

    @property
    def options(self) -> tuple[tuple[str, str], ...]:
        """The choices, with what stands there among them even where it is none of them."""
        known = {value for value, _ in self.box.choices}
        return self.box.choices if self.value in known else (*self.box.choices, (self.value, self.value))


def _choice(*words: str, blank: str = "as usual") -> tuple[tuple[str, str], ...]:
    return (("", blank), *((word, word) for word in words))


COMMISSION = (
    Box("title", "What it is called", example="Tea ware for a tea room", long=True),
    Box("client", "For whom", long=True),
    Box("due", "Wanted by", "day"),
    Box("start", "Work can begin on", "day", help="Left out: the next working day."),
    Box(
        "chance",
        "Chance of having enough",
        example="90 %",
        help="How sure to be of enough good pieces without making again.",
    ),
    Box("agreed_price", "Price agreed", "number", help="Left out: the price worked out."),
    Box("show_lengths", "Lengths in", "choice", choices=_choice("mm", "in", blank="the workshop's unit")),
    Box("show_temperatures", "Temperatures in", "choice", choices=_choice("C", "F", blank="°C")),
    Box("painting", "Painting", "long", wide=True),
    Box("notes", "Notes", "long", wide=True),
)
CLAY = (
    Box("name", "Clay body", long=True),
    Box("shrinkage", "Shrinkage in all", example="12 %", help="Wet to fired, share of the wet length."),
    Box("shrinkage_height", "in height", example="12.3 %", help="Where height and width differ."),
    Box("shrinkage_width", "in width", example="11.6 %"),
    Box("bag", "One bag weighs", example="12.5 kg"),
    Box("lot", "Lot"),
    Box("water", "Water in the plastic clay", example="20 %"),
    Box("loss_on_ignition", "Lost in the fire", example="8 %", help="What dry clay loses, share of its weight."),
    Box("wet_density", "Density when plastic", "number", example="1.95", help="g per ml"),
    Box("fired_density", "Density when fired", "number", example="2.25", help="g per ml"),
)
FORM = (
    Box("name", "Form"),
    Box("count", "How many", "count"),
    Box("shape", "Drawn as", "choice", choices=_choice(*SHAPES, blank="as its name tells")),
    Box("height", "Height", example="95 mm or 3 3/4 in"),
    Box("rim", "Mouth", example="84 mm", help="Outside, at the rim."),
    Box("foot", "Foot"),
    Box("belly", "Widest"),
    Box("wall", "Wall", example="4 mm"),
    Box("floor", "Floor", example="5 mm"),
    Box("capacity", "Capacity", example="about 300 ml"),
    Box(
        "fired_weight",
        "Weight of the prototype, fired",
        example="265 g",
        help="With its handle, without its lid. Gives the ball by a second route.",
    ),
    Box("height_tolerance", "Height agreed within", example="3 mm"),
    Box("width_tolerance", "Width agreed within", example="2 mm"),
    Box("trimming", "Trimmed off", example="12 %", help="Share of the ball."),
    Box("marks", "Carved marks on each", "count"),
    Box("handle.height", "Handle, height"),
    Box("handle.gap", "Handle, room for the fingers"),
    Box("handle.width", "Handle, width of strap"),
    Box("handle.thickness", "Handle, thickness of strap"),
    Box("handle.blank", "Handle, weight of blank"),
    Box("handle.at", "Handle, lower end above the table", help="Left out: midway up."),
    Box("handle.round", "Handle, round from the spout", example="180°", help="Degrees; 180 is opposite."),
    Box("lid.diameter", "Lid, across"),
    Box("lid.height", "Lid, height"),
    Box("lid.gallery", "Gallery, width of its ledge", example="6 mm", help="Left out, the lid sits on the rim."),
    Box("lid.gallery_depth", "Gallery, below the rim", example="6 mm"),
    Box("lid.gap", "Lid, gap across", example="1.5 mm", help="Fired; mouth less lid."),
    Box("lid.knob", "Knob, wide", example="25 mm"),
    Box("lid.knob_height", "Knob, high"),
    Box("lid.shrinkage", "Lid, shrinkage of its own", example="12.5 %"),
    Box(
        "lid.water",
        "Lid, water when thrown",
        example="22 %",
        help="Where it is thrown wetter or stiffer than its body.",
    ),
    Box("lip.out", "Pulled lip, out of the round", example="12 mm", help="How far it stands beyond the rim."),
    Box("lip.width", "Pulled lip, width of rim", example="40 mm"),
    Box("lip.down", "Pulled lip, from how far down", example="40 mm"),
    Box("lip.dip", "Pulled lip, dips below the rim", example="3 mm", help="It pours from there."),
    Box("spout.join", "Spout, joined at", help="Middle of its foot above the table."),
    Box("spout.length", "Spout, length", help="From the wall to the middle of its cut."),
    Box(
        "spout.rake",
        "Spout, rake",
        example="50°",
        help="Rise from level. What is left out brings the tip to the full level.",
    ),
    Box("spout.cut", "Spout, cut of the tip", example="0°", help="How far its front edge dips; 0 is level."),
    Box("spout.base", "Spout, wide at the wall", help="Outside."),
    Box("spout.tip", "Spout, wide at the tip", example="18 mm", help="Outside."),
    Box("spout.wall", "Spout, wall", example="4 mm"),
    Box("spout.full", "Full at", help="Level of the full pot above the table; left out, the rim."),
    Box("spout.holes", "Strainer holes", "count"),
    Box("spout.hole", "Strainer holes, wide", example="5 mm"),
    Box("spout.ball", "Spout, weight of ball"),
    Box(
        "good",
        "Good after each stage, here",
        "amounts",
        help=f"One stage a line: dried 97 %. Stages: {', '.join(STAGES)}.",
        wide=True,
        known=STAGES,
    ),
    Box(
        "minutes",
        "Minutes for one piece, here",
        "amounts",
        help=f"One task a line: throw 3 min. Tasks: {', '.join(TASKS)}.",
        wide=True,
        known=TASKS,
    ),
)
GLAZE = (
    Box("name", "Glaze or slip"),
    Box("on", "Goes on", "choice", choices=_choice("inside", "outside", "all", "rim", "painting", blank="all over")),
    Box("forms", "On which forms", "names", help="Names with commas between; left out: all of them.", long=True),
    Box("method", "How", "choice", choices=_choice("pour", "dip", "brush")),
    Box("coats", "Coats", "count"),
    Box("covers", "Covers", example="20 %", help="Share of that surface."),
    Box("specific_gravity", "Weight of 1 ml of slip", "number", example="1.45"),
    Box("cone", "Cone", example="6"),
    Box("fired_colour", "Colour when fired"),
    Box("raw_colour", "Colour when raw"),
    Box("recipe", "Recipe", "amounts", help="One material a line, parts by weight: whiting 20", wide=True),
    Box("additions", "Additions", "amounts", help="On top of the recipe's 100: zircon 8", wide=True),
)
MARK = (
    Box("what", "What is carved", long=True),
    Box("height", "Height, fired", example="20 mm"),
    Box("place", "Where", long=True),
)
FIRING = (
    Box("bisque_cone", "Bisque cone", example="04"),
    Box("glaze_cone", "Glaze cone", example="6"),
    Box("candle", "Candling", example="4 h"),
    Box("hold", "Hold at the top", example="15 min"),
    Box(
        "cone_form",
        "Witness cones",
        "choice",
        choices=_choice("self-supporting", "large", "small", blank="self-supporting"),
    ),
    Box("slow_cooling", "Slow cooling", "choice", choices=(("", "no"), ("yes", "yes"))),
)
PRICES = (
    Box("currency", "Currency", example="EUR"),
    Box("wage_per_hour", "Pay for an hour", "number"),
    Box("clay_per_kg", "Clay, a kg", "number"),
    Box("glaze_per_kg", "Glaze, a kg dry", "number"),
    Box("energy_per_kwh", "Electricity, a kWh", "number"),
    Box("packing_per_piece", "Packing, a piece", "number"),
    Box("overhead", "Rent and the like", example="25 %", help="Share of the cost before it."),
    Box("margin", "Kept over cost", example="20 %"),
    Box("deposit", "Deposit", example="50 %"),
    Box("prototype_hours", "Prototypes, tests, talks", example="8 h"),
    Box("tax", "Tax on invoices", example="20 %", help="Left empty, an invoice has no tax line."),
    Box("tax_words", "What an invoice says of tax", long=True),
)
SELLER = (
    Box("name", "Name on invoices", example="as the workshop's", long=True),
    Box("tax_number", "Tax number"),
    Box("address", "Address", "long", help="A line for the pen where left empty.", long=True),
    Box(
        "how_to_pay",
        "How to pay",
        "long",
        help="Bank and account, by when: as it is to stand on an invoice.",
        long=True,
    ),
)
KILN = (
    Box("name", "Kiln"),
    Box("shape", "Shelf", "choice", choices=_choice("round", "half-round", "rectangular", "octagonal", blank="round")),
    Box("shelf_diameter", "Shelf, across", example="21 in"),
    Box("shelf_width", "Shelf, width", help="Rectangular shelves."),
    Box("shelf_depth", "Shelf, depth"),
    Box("shelf_thickness", "Shelf, thick", example="19 mm"),
    Box("usable_height", "Height that can be used", example="27 in"),
    Box("posts", "Posts", "names", help="Lengths with commas between."),
    Box("power_kw", "Power, kW", "number", example="11.5"),
    Box(
        "wear_per_firing", "Wear of one firing", "number", help="Elements, thermocouple and shelves, in your currency."
    ),
    Box("hottest_cone", "Hottest cone", example="10", help="Loads for a hotter one go to another kiln."),
    Box("hottest", "Hottest it may go", example="1290 C"),
    Box(
        "wall", "Wall", example="brick 64 mm + fibre 25 mm", help=f"From the hot face outwards; or {', '.join(BUILDS)}."
    ),
    Box("furniture", "Shelves and posts weigh", example="38 kg", help="Left out: by their size and density."),
    Box("rated_volts", "Volts on its plate", "number", example="240"),
    Box(
        "supply_volts",
        "Volts at the wall",
        "number",
        example="232",
        help="With the elements on; an electrician measures.",
    ),
    Box(
        "vent",
        "Vent",
        "choice",
        choices=(("", "an open hole"), ("shut", "shut"), ("hole", "an open hole"), ("fan", "a fan")),
    ),
    Box("element_gap", "Ware to elements", example="15 mm", help="Kept free to the wall."),
    Box("thermocouple_gap", "Ware to thermocouple", example="25 mm"),
    Box(
        "thermocouple_at",
        "Thermocouple at",
        "number",
        example="3",
        help="Hour of a clock laid on the shelf, 6 in front.",
    ),
    Box("cone_packs", "Cone packs on", "names", example="top, middle, bottom", help="Left out: every shelf. Or none."),
    Box("cone_packs_at", "Cone packs at", "number", example="9", help="Hour, as for the thermocouple."),
    Box("posts_owned", "Posts, counted", "names", example="12 x 150 mm, 9 x 6 in", help="How many of each length."),
    Box("shelves", "Shelves, counted", "number", example="6"),
    Box("half_shelves", "Half shelves, counted", "number", example="4"),
)
FILLER = (
    Box("name", "What", example="Test tile"),
    Box("across", "Across, handle and all", example="60 mm", help="As it goes into the kiln."),
    Box("height", "Height", example="90 mm"),
    Box("most", "At the most in a load", "number", example="12"),
    Box("firing", "Goes into", "choice", choices=_choice("bisque", "glaze", blank="both")),
)
PERSON = (
    Box("name", "Who"),
    Box("hours_per_day", "Hours at the work, a day", example="6 h"),
    Box("days", "Days", "names", example="Mon, Tue, Wed", help="Left out: Monday to Friday."),
    Box("away", "Away on", "names", help="Days with commas between: 2027-01-04, 2027-01-05", long=True),
)
WORKSHOP = (
    Box("name", "Its name", long=True),
    Box("show_lengths", "Lengths in", "choice", choices=(("", "mm"), ("in", "in"))),
    Box("paper", "Sheets are printed on", "choice", choices=(("", "A4"), ("letter", "US letter"))),
    Box("bag", "One bag of clay weighs", example="12.5 kg"),
    Box("days_off", "Nobody works on", "names", help="Days with commas between.", long=True),
    Box(
        "drying_air",
        "Air where ware dries",
        "choice",
        choices=_choice("dry", "usual", "damp", blank="as its records say, else usual"),
        help="Weighing a piece of a board as it dries says it better.",
        long=True,
    ),
)
OWN = (
    Box(
        "good",
        "Good after each stage",
        "amounts",
        help=f"One stage a line: cup.dried 97 %, or dried 97 % for all kinds. Stages: {', '.join(STAGES)}.",
        wide=True,
        known=(*STAGES, *(f"{kind}.{stage}" for kind in KINDS for stage in STAGES)),
    ),
    Box(
        "minutes",
        "Minutes for one piece",
        "amounts",
        help=f"One task a line: cup.throw 2.5 min, or throw 3 min for all kinds. Tasks: {', '.join(TASKS)}.",
        wide=True,
        known=(*TASKS, *(f"{kind}.{task}" for kind in KINDS for task in TASKS)),
    ),
)


@dataclass(frozen=True, slots=True)
class Part:
    """A run of boxes: one table of the text, or each table of an array of them."""

    key: str
    heading: str
    boxes: tuple[Box, ...]
    many: bool = False
    one: str = ""  # what one of the many is called
    measured: bool = False
    first: Mapping[str, Any] = field(default_factory=dict)
    few: int = 6  # how many boxes stand open; the rest fold away unless something stands in them


BRIEF_PARTS = (
    Part("", "The commission", COMMISSION),
    Part("forms", "Forms, with their fired sizes", FORM, True, "form", True, {"name": "new form", "count": 1}, 6),
    Part("clay", "Clay", CLAY, measured=True, few=4),
    Part("glazes", "Glazes and slips", GLAZE, True, "glaze", False, {"name": "new glaze"}, 6),
    Part("mark", "Mark", MARK),
    Part("firing", "Firing", FIRING),
    Part("prices", "Prices for this commission", PRICES, few=0),
)
WORKSHOP_PARTS = (
    Part("", "In general", WORKSHOP),
    Part("kilns", "Kilns", KILN, True, "kiln", False, {"name": "new kiln"}, 10),
    Part(
        "fillers",
        "Fillers for gaps in a load",
        FILLER,
        True,
        "filler",
        False,
        {"name": "new filler", "across": "60 mm", "height": "90 mm"},
    ),
    Part("people", "People", PERSON, True, "person", False, {"name": "new person"}),
    Part("prices", "Prices", PRICES, few=10),
    Part("seller", "On invoices and delivery notes", SELLER),
    Part("firing", "Firing", FIRING),
    Part("own", "Your own losses and times", OWN),
)


def stems(part: Part, plain: Mapping[str, Any]) -> list[Path]:
    """Where the tables of a part stand in the text."""
    if not part.many:
        return [(part.key,) if part.key else ()]
    there = plain.get(part.key)
    return [(part.key, number) for number in range(len(there) if isinstance(there, list) else 0)]


def boxes_of(paper: PaperText, parts: Iterable[Part]) -> Iterator[tuple[Part, Path, Box]]:
    """Every box of a page, with where it stands in the text."""
    for part in parts:
        for stem in stems(part, paper.plain):
            for box in part.boxes:
                yield part, stem, box
