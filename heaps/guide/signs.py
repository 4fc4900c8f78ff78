"""Reading signs: what a heap shows, what it means, what to do. What the words rest on stands in the table of signs."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import Chapter, Part, Text, line
from heaps.science.signs import SIGNS as TABLE


def _sign(key: str, title: Text, why: Text, do: Text, found_by: Text) -> Part:
    row = TABLE[key]
    return Part(key, title, (line(why, *row.why),), line(do, *row.how), found_by)


SMELL_AND_WATER = (
    _sign(
        "ammonia",
        _("It smells of ammonia"),
        _("There is too much green in it. Or ash or lime went in."),
        _("Mix in dry leaves, chip or torn card. Cover it with 10 cm of browns. Add no ash."),
        _("ammonia smell, stings the nose, sharp smell, smells of wee, stink"),
    ),
    _sign(
        "rotten",
        _("It smells sour, or of rotten eggs"),
        _("No air gets in. It is too wet, or packed down."),
        _("Turn it with coarse, dry stuff. Keep the rain off. Let the water drain."),
        _("rotten egg smell, sour smell, stink, bad smell, rancid, smells bad, rot"),
    ),
    _sign(
        "wet",
        _("It is wet and slimy"),
        _("Too many soft greens, or too much rain. More than about 60 % of it is water."),
        _("Turn it with browns and twigs. Put a lid on. No wet kitchen scraps for two weeks."),
        _("wet heap, too wet, slime, soggy, mushy, sludge"),
    ),
    _sign(
        "juice",
        _("Brown water runs out"),
        _("It is too wet, or has no roof."),
        _("Cover it. Put dry browns at the bottom. Keep heaps 10 m from a stream and 50 m from a well."),
        _("leachate, brown juice, leaking, liquid runs out, puddle"),
    ),
    _sign(
        "dry",
        _("It is dry and dusty"),
        _("Less than about 40 % of it is water. Then rot slows down."),
        _("Turn it and water each layer until it feels like a wrung-out sponge. Add greens."),
        _("dry heap, too dry, dusty"),
    ),
    _sign(
        "white",
        _("White dust or threads"),
        _("Tiny helpers grow there. They like it warm and rather dry."),
        _("If it is dry, wet it before you turn it. Keep your face away from the dust."),
        _("white powder, white mould, white fungus, fungus, grey ash in the heap, threads, mould"),
    ),
)

WARMTH = (
    _sign(
        "cold-sweet",
        _("Cold, but damp and sweet"),
        _("It wants greens. Or it is done."),
        _("Add greens or manure and turn it. If it is dark and crumbly, let it mature."),
        _("cold heap, not heating, does not heat, nothing happens, not warm, not rotting"),
    ),
    _sign(
        "cold-small",
        _("Cold and small"),
        _("Under about 1 m³ a heap loses its heat, most of all in winter."),
        _("Build it in one go and wrap it. Or let it rot the slow, cool way."),
        _("cold heap, small heap, not heating, winter heap"),
    ),
    _sign(
        "warm-middle",
        _("Warm only in the middle"),
        _("It is too small, or its edges are dry."),
        _("Make it bigger or wrap it. Turn the outside to the inside."),
        _("warm in the middle, cold edges"),
    ),
    _sign(
        "cooled",
        _("Hot, then soon cool"),
        _("The air or the water in it is used up."),
        _("Turn it and wet it. Do it again until it heats no more."),
        _("cooled down, went cold, stopped heating, temperature drops"),
    ),
    _sign(
        "too-hot",
        _("Hotter than 65 °C"),
        _("It is big and rich in greens. At such heat the helpers in it die back."),
        _("Turn it, wet it, split it, before it is at 70 °C. Over 80 °C: keep it shut, call the fire service."),
        _("too hot, overheating, smoke, smoking, steaming, burning"),
    ),
)

LIFE = (
    _sign(
        "ants",
        _("Ants"),
        _("It is dry in there."),
        _("Turn it and water it."),
        _("ant nest"),
    ),
    _sign(
        "fruit-flies",
        _("Clouds of small flies"),
        _("Fruit or peelings lie open."),
        _("Bury them 10 to 20 cm deep and cap them with browns."),
        _("fruit flies, fruit fly, tiny flies, gnats, midges, flies"),
    ),
    _sign(
        "flies",
        _("House flies or maggots"),
        _("Meat, cheese or fresh dung lies in it."),
        _("Take it out, with gloves on. Cap the heap with browns. Turn it so that it heats."),
        _("flies, maggots, larvae, grubs, bluebottles"),
    ),
    _sign(
        "rats",
        _("Rats"),
        _("They find food, warmth and a quiet, dry place."),
        _(
            "No cooked food, bread, meat or cheese. Strong mesh below, holes of 15 mm at most. "
            "Keep it damp, turn it often, and tell a coordinator. If they stay: pest control."
        ),
        _("rat, mice, mouse, vermin, droppings, holes in the heap, tunnels"),
    ),
    _sign(
        "wasps",
        _("Wasps"),
        _("They come for fruit."),
        _("Cap the fruit with browns. Leave a nest alone until autumn."),
        _("wasp nest, hornets, bees"),
    ),
)

IN_THE_COMPOST = (
    _sign(
        "matted",
        _("Grass, leaves or paper in sheets"),
        _("They lie like a roof. No air gets through."),
        _("Fork the sheets apart. Shred them and mix them in."),
        _("matted, mats, layers, clumps, wads, stuck together"),
    ),
    _sign(
        "leaves-unchanged",
        _("Leaves that hardly change"),
        _("They are dry, whole, or of a tough kind."),
        _("Wet them. Run a mower over them. Mix in a bucket of grass to each five to ten of leaves."),
        _("leaf bin unchanged, leaves not rotting, leaf mould slow"),
    ),
    _sign(
        "lumpy",
        _("Still lumpy after a year"),
        _("It is woody, or was never turned."),
        _("Sieve it. What stays in the sieve goes into the next heap."),
        _("lumps, twigs left, not finished, half rotted"),
    ),
    _sign(
        "seedlings",
        _("Seedlings come up in the compost"),
        _("Seed lived through it."),
        _("Hoe them off, or lay that compost under mulch. Next time drown weeds with seed."),
        _("seedlings, weeds in compost, weeds growing, tomatoes growing, sprouting"),
    ),
    _sign(
        "shoots",
        _("Shoots from bits of root"),
        _("Roots such as bindweed are still alive."),
        _("Pick out every bit and put it into the soaking tub."),
        _("shoots, roots growing, bindweed growing, regrowing"),
    ),
    _sign(
        "yellow",
        _("Plants turn yellow"),
        _("The compost is too young. It takes nitrogen out of the soil."),
        _("Let it mature. Until then lay it on top only, and feed the plants."),
        _("yellow leaves, yellow plants, plants not growing, stunted"),
    ),
    _sign(
        "cupped",
        _("Bean or tomato leaves curl up"),
        _("A weedkiller that lasts came in with hay, straw or dung."),
        _("Use no more of that batch. Sow beans in it, and beside it in clean compost. Tell whoever brought it."),
        _("cupped leaves, curled leaves, twisted leaves, fern leaves, weedkiller damage, aminopyralid"),
    ),
)

GROUPS = (
    (_("Smell and water"), SMELL_AND_WATER),
    (_("Cold and heat"), WARMTH),
    (_("Small lives"), LIFE),
    (_("In the compost"), IN_THE_COMPOST),
)
SIGNS = Chapter(
    "signs",
    _("Reading the signs"),
    _("Look, smell, take a handful. Find the sign, then do the one thing beside it and wait a week."),
    (*SMELL_AND_WATER, *WARMTH, *LIFE, *IN_THE_COMPOST),
    one_sheet=True,
)
