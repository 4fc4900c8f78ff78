"""Take care: the usual cautions around heaps, each with what to do. They stand in for no doctor and no law."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import RECKONED, Chapter, Part, line

BODY = (
    Part(
        "dust",
        _("Dust and spores"),
        (line(_("A dry heap throws up spores. They can make people with asthma or weak lungs very ill."), "RHS-HS"),),
        line(
            _("Damp what is dry, stand upwind, wear a mask. If your chest or your defences are weak, let others turn."),
            "RHS-HS",
        ),
        _("dust, spores, asthma, mask, aspergillus, fungus, lungs, breathing"),
    ),
    Part(
        "legionella",
        _("Legionella"),
        (line(_("Compost and warm, still water can carry Legionella. It harms the lungs."), "PHS24", "RHS-HS"),),
        line(
            _("Do not lean over a heap or an open bag. Keep bags out of the sun. Ill later? Call a doctor."),
            "PHS24",
        ),
        _("legionella, legionnaires, lung germ, germs"),
    ),
    Part(
        "hands",
        _("Dirty hands"),
        (line(_("Soil, dung and compost carry germs such as E. coli and Salmonella."), "RHS-HS", "UCSC"),),
        line(_("Wear gloves. Wash your hands with soap before you eat, drink or smoke."), "PHS24", "RHS-HS"),
        _("wash hands, hand washing, gloves, germs, e coli, salmonella, hygiene, eating"),
    ),
    Part(
        "cuts",
        _("Cuts and thorns"),
        (line(_("Tetanus and other germs get in through a dirty cut."), "RHS-HS"),),
        line(
            _("Clean it and cover it. Keep your tetanus jab up to date. If it goes red, hot or sore, see a doctor."),
            "RHS-HS",
            "mem-H",
        ),
        _("tetanus, cuts, wound, thorn, scratch, sepsis, injury, first aid"),
    ),
    Part(
        "rat-germs",
        _("Rats and their wet"),
        (line(_("Where rats have been, water and damp stuff can carry leptospirosis (Weil’s disease)."), "RHS-HS"),),
        line(_("Gloves on, cuts covered, hands washed. Tell a coordinator what you saw."), "RHS-HS", "TESTVAL"),
        _("rats, rat, leptospirosis, weils disease, rat wee, vermin"),
    ),
    Part(
        "raw-dung",
        _("Fresh dung"),
        (line(_("Raw dung carries germs that make people ill through salad and roots."), "UCSC"),),
        line(
            _("Let it rot before it goes on beds. A US rule keeps raw dung 90 or 120 days away from the harvest."),
            "UCSC",
        ),
        _("raw manure, fresh manure, fresh dung, manure on salad"),
    ),
    Part(
        "lifting",
        _("Lifting"),
        (
            line(
                _("A 90-litre barrow of wet leaves is about 25 kg. One of dung is about 75 kg."),
                RECKONED,
            ),
        ),
        line(_("Part-fill it. Lift in pairs. Use a fork, and bend your knees."), "HSE-143"),
        _("lifting, heavy, back, barrow, weight, carry"),
    ),
)

TOOLS_AND_HEAT = (
    Part(
        "sharps",
        _("Glass, needles, old cans"),
        (line(_("A load from outside can hold sharp things or weedkiller cans."), "mem-H"),),
        line(_("Tip it out and look first. Use gloves and tongs. Tell a coordinator; do not open cans."), "mem-H"),
        _("sharps, glass, needle, syringe, wire, nails, chemicals, pesticide"),
    ),
    Part(
        "shredder",
        _("Shredders"),
        (line(_("A shredder pulls in sleeves and throws out bits."), "mem-H"),),
        line(_("Only people who were shown how. Cover eyes and ears. No loose clothes."), "mem-H"),
        _("shredder, chipper, machine, mower"),
    ),
    Part(
        "steam",
        _("Hot heaps and steam"),
        (line(_("Over 60 °C the core and its steam can scald, and so can the probe."), "mem-H"),),
        line(_("Gloves on. Open it bit by bit, and keep your face back."), "mem-H"),
        _("steam, scald, hot, burn, probe"),
    ),
    Part(
        "fire",
        _("Fire"),
        (line(_("A big, dry, hot heap can catch fire by itself. Check it with a probe each week."), "SURREY"),),
        line(
            _("Turn and wet it before 70 °C. Over 80 °C, or smoke: do not open it, call the fire service."),
            "SURREY",
        ),
        _("fire, smoke, burning, smoking, 999, flames"),
    ),
    Part(
        "closed",
        _("Closed bins and sheds"),
        (line(_("Rot uses up air and gives off gas, carbon monoxide too. One can faint and die."), "mem-M"),),
        line(_("Never climb into a closed bin. Keep rotting stuff out of shut rooms; open doors first."), "mem-M"),
        _("carbon monoxide, gas, closed bin, shed, fumes, faint, air"),
    ),
)

LAW_AND_PLANTS = (
    Part(
        "animal-law",
        _("Food and things from animals"),
        (
            line(
                _("Law rules what may be done with kitchen food and animal stuff. It differs by country."),
                "APHA-HEAP",
                "NETREGS",
            ),
        ),
        line(
            _("Keep farm animals and birds off the heap. Ask a coordinator, and check local rules."),
            "APHA-HEAP",
            "NETREGS",
        ),
        _("animal by-products, law, rules, legal, catering waste, permit, chickens on the heap, licence"),
    ),
    Part(
        "invasive",
        _("Knotweed and its like"),
        (line(_("Some plants spread from a scrap, and letting them spread can break the law."), "KNOT"),),
        line(_("Leave them where they are. Take a photo and ask people with the licence for it."), "KNOT"),
        _("japanese knotweed, knotweed, invasive plants, giant hogweed, himalayan balsam"),
    ),
    Part(
        "harmful-plants",
        _("Plants that harm"),
        (
            line(
                _("Hogweed sap burns skin, and yew dust is poison. Fresh-cut laurel gives off bad fumes."),
                "mem-H",
            ),
        ),
        line(_("Gloves, long sleeves, mask. Shred laurel only out of doors. Leave giant hogweed alone."), "mem-H"),
        _("poison plants, poisonous, hogweed, yew, laurel, oleander, bracken, sap, toxic"),
    ),
    Part(
        "children-dogs",
        _("Children and dogs"),
        (line(_("Hops and mouldy food poison dogs. A tub of water is a danger to small children."), "mem-H"),),
        line(_("Keep lids shut and fixed. Keep dogs on the lead."), "mem-H"),
        _("children, kids, dogs, pets, poison"),
    ),
)

CAUTIONS = Chapter(
    "cautions",
    _("Take care"),
    _(
        "These are the usual cautions. They are no advice on law or health. Check local rules. "
        "Where work needs a licence or training, leave it to those who have it."
    ),
    (*BODY, *TOOLS_AND_HEAT, *LAW_AND_PLANTS),
    one_sheet=True,
)
