"""Reading signs: what a heap shows, what it means, what to do."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, Chapter, Part, line

SMELL_AND_WATER = (
    Part(
        "ammonia",
        _("It smells of ammonia"),
        (line(_("There is too much green in it. Or ash or lime went in."), "EXT-TS", "COR-MIX"),),
        line(_("Mix in dry leaves, chip or torn card. Cover it with 10 cm of browns. Add no ash."), "EXT-TS"),
        _("ammonia smell, stings the nose, sharp smell, smells of wee, stink"),
    ),
    Part(
        "rotten",
        _("It smells sour, or of rotten eggs"),
        (line(_("No air gets in. It is too wet, or packed down."), "EXT-TS", "YPTE"),),
        line(_("Turn it with coarse, dry stuff. Keep the rain off. Let the water drain."), "EXT-TS"),
        _("rotten egg smell, sour smell, stink, bad smell, rancid, smells bad, rot"),
    ),
    Part(
        "wet",
        _("It is wet and slimy"),
        (line(_("Too many soft greens, or too much rain. More than about 60 % of it is water."), "YPTE", "COMPHB"),),
        line(_("Turn it with browns and twigs. Put a lid on. No wet kitchen scraps for two weeks."), "YPTE"),
        _("wet heap, too wet, slime, soggy, mushy, sludge"),
    ),
    Part(
        "juice",
        _("Brown water runs out"),
        (line(_("It is too wet, or has no roof."), "mem-H"),),
        line(_("Cover it. Put dry browns at the bottom. Keep heaps 10 m from a stream and 50 m from a well."), "mem-M"),
        _("leachate, brown juice, leaking, liquid runs out, puddle"),
    ),
    Part(
        "dry",
        _("It is dry and dusty"),
        (line(_("Less than about 40 % of it is water. Then rot slows down."), "EXT-TS", "COMPHB"),),
        line(_("Turn it and water each layer until it feels like a wrung-out sponge. Add greens."), "EXT-TS"),
        _("dry heap, too dry, dusty"),
    ),
    Part(
        "white",
        _("White dust or threads"),
        (line(_("Tiny helpers grow there. They like it warm and rather dry."), "EXT-TS"),),
        line(_("If it is dry, wet it before you turn it. Keep your face away from the dust."), "EXT-TS", "RHS-HS"),
        _("white powder, white mould, white fungus, fungus, grey ash in the heap, threads, mould"),
    ),
)

WARMTH = (
    Part(
        "cold-sweet",
        _("Cold, but damp and sweet"),
        (line(_("It wants greens. Or it is done."), "EXT-TS"),),
        line(_("Add greens or manure and turn it. If it is dark and crumbly, let it mature."), "EXT-TS"),
        _("cold heap, not heating, does not heat, nothing happens, not warm, not rotting"),
    ),
    Part(
        "cold-small",
        _("Cold and small"),
        (line(_("Under about 1 m³ a heap loses its heat, most of all in winter."), "RHS-COMP", "RHS-TRIAL"),),
        line(_("Build it in one go and wrap it. Or let it rot the slow, cool way."), "EXT-TS", "RHS-TRIAL"),
        _("cold heap, small heap, not heating, winter heap"),
    ),
    Part(
        "warm-middle",
        _("Warm only in the middle"),
        (line(_("It is too small, or its edges are dry."), "EXT-TS"),),
        line(_("Make it bigger or wrap it. Turn the outside to the inside."), "EXT-TS"),
        _("warm in the middle, cold edges"),
    ),
    Part(
        "cooled",
        _("Hot, then soon cool"),
        (line(_("The air or the water in it is used up."), "USDA-317", "COR-PHYS"),),
        line(_("Turn it and wet it. Do it again until it heats no more."), "USDA-317"),
        _("cooled down, went cold, stopped heating, temperature drops"),
    ),
    Part(
        "too-hot",
        _("Hotter than 65 °C"),
        (line(_("It is big and rich in greens. At such heat the helpers in it die back."), "COR-PHYS", "MB-AG"),),
        line(
            _("Turn it, wet it, split it, before it is at 70 °C. A big heap over 80 °C: keep it shut and call 999."),
            "SURREY",
        ),
        _("too hot, overheating, smoke, smoking, steaming, burning"),
    ),
)

LIFE = (
    Part(
        "ants",
        _("Ants"),
        (line(_("It is dry in there."), PRACTICE),),
        line(_("Turn it and water it."), PRACTICE),
        _("ant nest"),
    ),
    Part(
        "fruit-flies",
        _("Clouds of small flies"),
        (line(_("Fruit or peelings lie open."), "EXT-TS"),),
        line(_("Bury them 10 to 20 cm deep and cap them with browns."), "EXT-TS"),
        _("fruit flies, fruit fly, tiny flies, gnats, midges, flies"),
    ),
    Part(
        "flies",
        _("House flies or maggots"),
        (line(_("Meat, cheese or fresh dung lies in it."), "EXT-TS", "mem-H"),),
        line(_("Take it out, with gloves on. Cap the heap with browns. Turn it so that it heats."), "EXT-TS"),
        _("flies, maggots, larvae, grubs, bluebottles"),
    ),
    Part(
        "rats",
        _("Rats"),
        (line(_("They find food, warmth and a quiet, dry place."), "TESTVAL"),),
        line(
            _(
                "No cooked food, bread, meat or cheese. Strong mesh below, holes of 15 mm at most. "
                "Keep it damp, turn it often, and tell a coordinator. If they stay: pest control."
            ),
            "TESTVAL",
        ),
        _("rat, mice, mouse, vermin, droppings, holes in the heap, tunnels"),
    ),
    Part(
        "wasps",
        _("Wasps"),
        (line(_("They come for fruit."), "mem-M"),),
        line(_("Cap the fruit with browns. Leave a nest alone until autumn."), "mem-M"),
        _("wasp nest, hornets, bees"),
    ),
)

IN_THE_COMPOST = (
    Part(
        "matted",
        _("Grass, leaves or paper in sheets"),
        (line(_("They lie like a roof. No air gets through."), "EXT-TS"),),
        line(_("Fork the sheets apart. Shred them and mix them in."), "EXT-TS"),
        _("matted, mats, layers, clumps, wads, stuck together"),
    ),
    Part(
        "leaves-unchanged",
        _("Leaves that hardly change"),
        (line(_("They are dry, whole, or of a tough kind."), "RHS-LM", "mem-H"),),
        line(_("Wet them. Run a mower over them. Mix in a bucket of grass to each five to ten of leaves."), "mem-H"),
        _("leaf bin unchanged, leaves not rotting, leaf mould slow"),
    ),
    Part(
        "lumpy",
        _("Still lumpy after a year"),
        (line(_("It is woody, or was never turned."), "YPTE"),),
        line(_("Sieve it. What stays in the sieve goes into the next heap."), "YPTE"),
        _("lumps, twigs left, not finished, half rotted"),
    ),
    Part(
        "seedlings",
        _("Seedlings come up in the compost"),
        (line(_("Seed lived through it."), "ASKORG"),),
        line(_("Hoe them off, or lay that compost under mulch. Next time drown weeds with seed."), "ASKORG"),
        _("seedlings, weeds in compost, weeds growing, tomatoes growing, sprouting"),
    ),
    Part(
        "shoots",
        _("Shoots from bits of root"),
        (line(_("Roots such as bindweed are still alive."), "GO-WEED"),),
        line(_("Pick out every bit and put it into the soaking tub."), "GO-WEED"),
        _("shoots, roots growing, bindweed growing, regrowing"),
    ),
    Part(
        "yellow",
        _("Plants turn yellow"),
        (line(_("The compost is too young. It takes nitrogen out of the soil."), "mem-H"),),
        line(_("Let it mature. Until then lay it on top only, and feed the plants."), "mem-H"),
        _("yellow leaves, yellow plants, plants not growing, stunted"),
    ),
    Part(
        "cupped",
        _("Bean or tomato leaves curl up"),
        (line(_("A weedkiller that lasts came in with hay, straw or dung."), "HORFIELD"),),
        line(
            _("Use no more of that batch. Sow beans in it, and beside it in clean compost. Tell whoever brought it."),
            "HORFIELD",
        ),
        _("cupped leaves, curled leaves, twisted leaves, fern leaves, weedkiller damage, aminopyralid"),
    ),
)

SIGNS = Chapter(
    "signs",
    _("Reading the signs"),
    _("Look, smell, take a handful. Find the sign, then do the one thing beside it and wait a week."),
    (*SMELL_AND_WATER, *WARMTH, *LIFE, *IN_THE_COMPOST),
    one_sheet=True,
)
