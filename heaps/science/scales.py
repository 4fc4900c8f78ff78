"""Published classes of how far compost has come, by test."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Scale:
    """Classes from the lowest figure to the highest, and the bounds between them.

    A figure on a bound belongs to the class below it, unless the bound is in `goes_up`.
    """

    key: str
    unit: str
    bounds: tuple[float, ...]
    classes: tuple[str, ...]
    source: str
    checked: str
    goes_up: tuple[float, ...] = ()

    def class_of(self, figure: float) -> str:
        """The class that a figure falls into."""
        passed = sum(figure > bound or (figure == bound and bound in self.goes_up) for bound in self.bounds)
        return self.classes[passed]


#: Rise above the air, in a vacuum flask, of compost wetted to a wrung sponge: the highest in about a week.
DEWAR = Scale("self-heating", "K", (10, 20, 30, 40), ("V", "IV", "III", "II", "I"), "BRINTON95", "from memory (high)")
#: What the classes of DEWAR are called.
DEWAR_WORDS = {"V": "finished", "IV": "mature", "III": "active", "II": "young", "I": "raw"}
#: A laboratory's breath test: mg of CO2 for each g of organic matter in a day.
PAS100_BREATH = Scale("breath, limit", "mg CO2/g OM/d", (16,), ("stable", "not stable"), "PAS100", "from memory (high)")
#: Oxygen uptake: mmol of O2 for each kg of organic matter in an hour. Class III or better of DEWAR will do as well.
EU_UPTAKE = Scale("oxygen uptake", "mmol O2/kg OM/h", (25,), ("stable", "not stable"), "EU1009", "from memory (high)")
#: mg of carbon (in CO2) for each g of organic matter in a day: under 2 very stable, over 8 unstable.
CCQC_BREATH = Scale(
    "breath", "mg CO2-C/g OM/d", (2, 8), ("very stable", "stable", "unstable"), "CCQC", "from memory (medium)",
    goes_up=(2,),
)  # fmt: skip
#: Ammonium over nitrate: under 0.5 very mature, up to 3 mature.
CCQC_AMMONIUM = Scale(
    "ammonium to nitrate", "", (0.5, 3), ("very mature", "mature", "immature"), "CCQC", "from memory (medium)",
    goes_up=(0.5,),
)  # fmt: skip
#: A jar with two colour gels, read after 4 hours: one figure of 1 to 8 from both.
GEL_JAR = Scale("gel jar", "", (4, 6), ("active", "curing", "finished"), "mem-M", "from memory (medium)")
#: C:N at the end: it falls from about 30 to 10 or 15; 25 at most before other tests count (CCQC, from memory, medium).
END_C_TO_N = Scale(
    "C:N at the end", "", (15, 25), ("as finished", "let other tests decide", "too much carbon"), "COR-CN; CCQC",
    "read in part",
)  # fmt: skip
#: Seeds that came up, in per cent of those in the control (TMECC 05.05-A and PAS 100: 80 % at least).
GERMINATION = Scale(
    "germination", "% of control", (80, 90), ("immature", "mature", "very mature"), "CCQC; PAS100",
    "from memory (medium)", goes_up=(80, 90),
)  # fmt: skip

SCALES = (
    DEWAR, PAS100_BREATH, EU_UPTAKE, CCQC_BREATH, CCQC_AMMONIUM, GEL_JAR, END_C_TO_N, GERMINATION,
)  # fmt: skip
