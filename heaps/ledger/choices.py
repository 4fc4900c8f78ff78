"""The words that an entry may choose from."""

PLACES = ("core", "edge", "top", "base")
SQUEEZES = (
    "dust",
    "crumbles",
    "holds",
    "drops",
    "runs",
)  # hand test from dry to wet; "holds" to "drops" is right
SIGNS = ("ammonia", "rotten", "flies", "ants", "rats", "slimy", "dusty", "matted", "seedlings", "shoots")


#: Why a load was turned away at the gate.
WHY_REFUSED = (
    "never goes in", "glass or plastic in it", "may carry weedkiller", "seed or disease", "too wet or rotten",
    "no room", "too much of it", "other",
)  # fmt: skip
#: What the soaking tub is for: roots that grow again, and seed (common practice).
TUB_WEEDS = (
    "bindweed", "couch", "ground elder", "dock", "dandelion", "horsetail", "nettle roots", "buttercup", "thistle",
    "seed heads", "other",
)  # fmt: skip
GATHERINGS = ("talk", "workshop", "open day", "school visit", "work day", "other")
INCIDENTS = ("injury", "near miss", "sharps", "rats", "hot heap", "fire", "smell", "spill", "other")
