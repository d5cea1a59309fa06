/* The cautions: texts in our own words, each with when it applies and where it comes from, and one rule a caution that
 * decides. Whatever nobody answered counts as yes. Federal rules bind employers; here they are yardsticks. */
#include "coat/caution.h"

#include <string.h>

#define WORD(value, word) [value] = (word),
static const char *const words[] = {COAT_CAUTIONS(WORD)};
_Static_assert(sizeof words / sizeof *words == CAUTION_COUNT, "one word a caution");

const char caution_deferral[] =
    "The product label, the safety data sheet, local codes and licensed practice decide; where they ask for more than is "
    "said here, do what they ask.";

static const struct caution_text texts[] = {
    [CAUTION_RAGS] = {
        "Rags under water, lid on",
        "Rags, paper and overspray wet with drying oil, alkyd, oil varnish, oil size or japan heat themselves and can take "
        "fire within the hour or days later. Put them under water in a metal can with a tight lid, or spread them singly "
        "and flat outdoors on something that does not burn until they are stiff; never wad, pile or bin them. Empty the "
        "can the same day. Dust from sanding a fresh oil finish heats in the same way.",
        "a coat, a bake or sanding of a material that heats itself, and always in the shop; leads while a coat is wet",
        "29 CFR 1910.107(b)(5)(v) and (g)(3); 29 CFR 1926.252(e); under water or spread singly: state fire marshal advice, "
        "second-hand; which finishes heat: common practice",
    },
    [CAUTION_ISOCYANATE] = {
        "Isocyanate: supplied air or do not spray",
        "Isocyanates, as in urethane hardeners, can cause asthma and lasting sensitisation through lungs and skin, and "
        "whoever is sensitised reacts to traces. Spraying them calls for supplied air, and is not for home spraying: a "
        "cartridge mask is not enough and no smell gives warning. Cover skin and eyes and keep everyone else out, also "
        "while it cures and when it is sanded or baked. A two-part material whose papers nobody has read counts as one.",
        "a coat, a bake or sanding of a material with isocyanates; an unanswered two-part counts as one",
        "NIOSH 96-111; 29 CFR 1910.107(m)(1); supplied air: EPA auto-refinish guidance, second-hand; no home spraying: "
        "common practice; no warning smell: from memory",
    },
    [CAUTION_VENTILATION] = {
        "Fan on, air out of doors",
        "Move air through the place before the first coat and on until the smell has gone and the label's flash-off time "
        "has passed; a drying coat goes on giving off vapour. Draw it from low down, because solvent vapour sinks, blow it "
        "out of doors, let as much clean air in, and never return it to the room. Waterborne coats, strippers and ovens "
        "need air as well.",
        "every coat, every bake, stripping, and always in the shop; leads while a coat is wet",
        "29 CFR 1910.107(d)(2), (d)(9) and (d)(12); 29 CFR 1910.94(c)(7)(i); sinking vapour: worked out from molar masses",
    },
    [CAUTION_FLAME] = {
        "No flame or spark within 6 m (20 ft)",
        "Nothing that burns, glows or sparks within 20 ft (6 m) of spraying, wet coats or open tins, and no smoking: no "
        "flames, heaters, hot surfaces, grinders, sparking switches or motors. Vapour creeps along the floor to a flame "
        "out of sight, and many finish solvents give off enough of it to burn at room temperature. A waterborne liquid "
        "may not burn; its aerosol, its thinner and what is used to clean up may.",
        "every coat, every bake, stripping, and always in the shop; leads while a coat is wet",
        "29 CFR 1910.107(c)(2), (c)(3), (c)(6) and (g)(7); 29 CFR 1910.106(e)(2)(iv); room temperature: International "
        "Chemical Safety Cards, flash points",
    },
    [CAUTION_PILOT] = {
        "Pilot and furnace off before solvent",
        "A pilot flame, furnace, boiler or water heater in or beside this place can light vapour, and a furnace draws it "
        "in. Have them shut off and cold before solvent is opened, and lit again only when the air has cleared. Where they "
        "cannot be shut off, do the work elsewhere; within 20 ft (6 m) counts as beside.",
        "a coat, a bake, stripping or the shop in a place with a pilot flame or furnace, or where nobody has answered that",
        "29 CFR 1910.107(c)(2); 29 CFR 1910.106(e)(2)(iv)",
    },
    [CAUTION_HEATER] = {
        "Open-flame heater off and cold",
        "An open-flame or unvented heater lights vapour, breaks solvent down into irritant gases, and adds carbon monoxide "
        "and water to the air. Have it off and cold before spraying and until the vapour has cleared; warm the room "
        "beforehand, or by heat whose flame and exhaust stay out of doors. No can, wet piece or overspray near a heater.",
        "a coat, a bake, stripping or the shop in a place with an open-flame or unvented heater, or where nobody has "
        "answered that",
        "29 CFR 1910.94(c)(7)(iv); 29 CFR 1910.107(c)(2) and (c)(3); 29 CFR 1910.1000 table Z-1 (carbon monoxide); irritant "
        "gases: from memory",
    },
    [CAUTION_BAKE] = {
        "Stay with the oven, exhaust running",
        "Run the exhaust first, at least 3 minutes and four times the oven's volume, then heat; where the fan stops, the "
        "heat stops. Keep vapour under a quarter of its lower explosive limit: a few millilitres of solvent left in the "
        "coat can pass that in a small oven. Measure on the metal, with a cut-out of its own and an extinguisher at hand, "
        "and do not leave it. On smoke or a sharp smell turn the heat off and keep the door shut; cast iron burns hands "
        "for hours.",
        "every bake, and a coat of a material that is baked",
        "29 CFR 1910.107(j)(3) and (j)(4); a quarter of the limit: NFPA 86, second-hand; four volumes: NFPA 86, from memory; "
        "millilitres: worked out; smoke, metal and cut-out: common practice",
    },
    [CAUTION_BAKE_FLASH] = {
        "No piece that smells into the oven",
        "A piece goes into the oven only when it no longer smells of solvent and the label's flash-off time is over: what "
        "still dries gives off vapour that heat can light. Free it of oil and grease, open sealed hollows, and take off "
        "what heat ruins, such as solder, babbitt, pot metal, springs, rubber, celluloid, leather, glue and shellac. An old "
        "finish that was not tested counts as lead and is not baked.",
        "every bake, and a coat of a material that is baked",
        "29 CFR 1910.107(d)(2) and (d)(12); grease, hollows and what heat ruins: common practice",
    },
    [CAUTION_OVEN_PLACE] = {
        "No kitchen oven; oven above ground",
        "Never bake in an oven that cooks food, nor cook in one that has baked a finish. No open element or pilot where "
        "vapour can reach it. The oven stands at or above ground level, away from where finishes are sprayed or kept and "
        "from what can burn, and its room is aired out of doors.",
        "every bake, a coat of a material that is baked, and always in the shop",
        "International Fire Code 3003.2 to 3003.4, as adopted locally; 29 CFR 1910.107(j)(3); food and open elements: common "
        "practice, no regulation found",
    },
    [CAUTION_LEAD] = {
        "Test the old finish for lead first",
        "Old enamel and japan can hold lead, chromates or cadmium, and a date proves nothing for machine paint: what was "
        "not tested counts as lead. Test before sanding, scraping, heating or stripping. No flame, no heat gun above 1,100 F "
        "(593 C), no dry sanding, no grinding or blasting without HEPA capture: work wet, cover 6 ft (2 m) around, clean "
        "with a HEPA vacuum and wet wipes, seal the waste. Wash and change before you eat or go to children.",
        "a coat, a bake, sanding or stripping of a piece whose old finish is lead or was not tested, and the shop",
        "24 CFR 35.140 and 40 CFR 745.85, housing rules used as a yardstick; 16 CFR 1303.1; MIL-HDBK-1110 13.4 and 13.6; dates "
        "and machine paint: common practice",
    },
    [CAUTION_STRIPPER] = {
        "Stripper: open air, gloves, face shield",
        "Chemical strippers burn skin and eyes, and their vapour can stun or kill in a closed room or over a deep tray; some "
        "burn as well. Read the safety data sheet first, work outdoors or in moving air, and wear gloves, apron and face "
        "shield made for that stripper. Over a finish that may hold lead the sludge is lead waste. Rinse the metal as the "
        "label says before the first coat.",
        "every stripping",
        "24 CFR 35.140 (solvent strippers in poor air over lead paint); the rest: common practice",
    },
    [CAUTION_SANDING_DUST] = {
        "Particle mask on; no dust on wet coats",
        "The dust of any finish harms lungs and settles into wet coats: wear a particulate respirator, sand wet where the "
        "finish allows, and take the dust up at once. Dust of a two-part finish that is not cured through still "
        "sensitises. Dust of a fresh oil finish goes where the oily rags go. Do not blast with sand.",
        "all sanding and stripping, and always in the shop",
        "29 CFR 1910.1000 table Z-1 (particulates); oil dust: fire department advice, second-hand; two-part dust: from memory; "
        "sand: common practice",
    },
    [CAUTION_RESPIRATOR] = {
        "Organic-vapour and particle filters on",
        "For spraying, and for brushing solvent finishes where the air is poor, wear a mask with organic-vapour cartridges "
        "and particulate filters, R95 or P95 against oily mist. Change them daily or at the first smell; the seal wants a "
        "shaven face, and a dust mask stops no vapour. Spraying indoors without mechanical ventilation calls for supplied "
        "air, and so do isocyanates. For sanding dust a particulate filter is the least.",
        "a coat that is sprayed or gives off solvent, sanding, stripping, and always in the shop",
        "42 CFR 84 selection table (NIOSH guide, appendix B); TM 55-1500-345-23 table 8-6; 29 CFR 1915.35(a)(2); seal: 29 CFR "
        "1910.134, from memory; dust mask: common practice",
    },
    [CAUTION_TWO_PART] = {
        "Two-part: no spraying at home",
        "Read the safety data sheets of both parts, and treat the mix as holding isocyanates until they say otherwise. Trade "
        "rules put the spraying of two-part coatings into an approved booth with sprinklers, which a home shop has not. Mix "
        "only what the pot life allows: a full pot heats itself, so leftovers harden outdoors in a shallow metal tray.",
        "a coat of a two-part material that was sprayed or came from a can; an unanswered one counts as two-part where its "
        "class has such members",
        "29 CFR 1910.107(m)(1); not at home and leftovers: common practice",
    },
    [CAUTION_AEROSOL] = {
        "Cans below 49 C (120 F), never warmed",
        "Keep aerosol cans below 120 F (49 C): not on a heater, by the oven, in the sun or in a hot car. Do not puncture or "
        "burn them, and keep them from children. The propellant is a flammable gas that sinks and spreads like solvent "
        "vapour, so keep flames and sparks away until the air has cleared.",
        "a coat from an aerosol can, and always in the shop",
        "16 CFR 1500.130(b); 49 CFR 173.306(a)(3); sinking gas: worked out from molar masses",
    },
    [CAUTION_SOLVENT_SKIN] = {
        "Gloves and eye protection on",
        "Solvents, and the co-solvents of waterborne finishes, hurt eyes and skin, and some pass through it. Wear gloves "
        "that stand this solvent and splash protection for the eyes, and never clean skin with thinner. Wash splashes off "
        "at once, eyes with much water, and do as the safety data sheet says.",
        "every coat, stripping, and always in the shop",
        "TM 43-0139 (gloves, eyes, thinner); NIOSH Pocket Guide, skin notations of n-butanol and ethylene glycol monobutyl "
        "ether; washing: common practice",
    },
    [CAUTION_SENSITISER] = {
        "No skin contact: it can sensitise",
        "Uncured epoxy resins and amines, isocyanates, turpentine, and some driers and preservatives can make skin allergic "
        "for good. Keep liquid, overspray and fresh dust off the skin: clean gloves, long sleeves, no wiping down with "
        "thinner. At the first rash stop, and show a doctor the safety data sheet.",
        "a coat or sanding of a material that can sensitise skin",
        "NIOSH 96-111 (isocyanates); NIOSH Pocket Guide, npgd0648 (turpentine); epoxies, driers and preservatives: from memory",
    },
    [CAUTION_STATIC] = {
        "Bond and ground cans when pouring",
        "Pouring and spraying charge containers, guns and booths, and the spark can light vapour. Bond metal containers to "
        "each other and to ground before pouring, ground metal booths and ducts, and use metal or safety cans, not glass. "
        "Plastic gloves charge more than rubber ones, and dry winter air makes it worse.",
        "a coat of a flammable material, and always in the shop",
        "29 CFR 1910.106(e)(6)(ii); 29 CFR 1910.107(c)(9), (e)(3) and (e)(9); 29 CFR 1915.35(b)(9); winter air: common practice",
    },
    [CAUTION_FAN_MOTOR] = {
        "This fan's motor can light vapour",
        "A fan whose motor or switch stands in the vapour stream can light it. Use one with the motor outside the stream and "
        "blades that do not spark, rated for flammable vapour, or blow clean air in rather than draw vapour through it. "
        "Switch it from outside the spray area and before the first tin is opened.",
        "a coat, a bake, stripping or the shop in a place whose fan motor is in the vapour stream, or where nobody has "
        "answered that",
        "29 CFR 1910.107(c)(6); motors and blades: 29 CFR 1910.107(d), from memory; blowing in: common practice",
    },
    [CAUTION_ELECTRONICS] = {
        "Phones, chargers, sensors 6 m away",
        "Phones, chargers, screens, battery tools and the shop's own sensors are not made for vapour and can spark. Keep "
        "them 20 ft (6 m) from spraying and wet coats unless a partition stands between, and plug or unplug nothing while "
        "vapour is about. Note the time and log the coat afterwards, outside the spray area.",
        "a coat, a bake, stripping or the shop in a place with electronics in the spray area, or where nobody has answered "
        "that",
        "29 CFR 1910.107(c)(2) and (c)(6)",
    },
    [CAUTION_BELOW_GROUND] = {
        "Below ground: exhaust from the floor",
        "Solvent vapour is heavier than air and gathers in cellars and pits, where a draught does not clear it. Exhaust from "
        "floor level straight outdoors and let air in high, take every clearing time as too hopeful, and do not spray "
        "solvents where that cannot be had. Do not work there alone. An oven does not belong below ground.",
        "a coat, a bake, stripping or the shop in a place below ground, or where nobody has answered that",
        "29 CFR 1910.107(d)(2) and (d)(9); International Fire Code 3003.2, as adopted locally; sinking vapour: worked out from "
        "molar masses; not alone: common practice",
    },
    [CAUTION_ATTACHED] = {
        "Shut the door to the house",
        "Vapour, dust and carbon monoxide pass from an attached shop into the house. Keep the door between shut and sealed, "
        "blow the air straight outdoors and not toward windows, and see that no furnace, dryer or water heater behind the "
        "wall draws from the shop. Smoke and carbon monoxide alarms belong in the house.",
        "any work or the shop in a place attached to a house, or where nobody has answered that",
        "29 CFR 1910.107(d)(7) and (d)(8) (where ducts end); the rest: common practice",
    },
    [CAUTION_LIVED_IN] = {
        "Nobody sleeps or eats here until aired",
        "Do not spray, strip, sand or cure pieces where people or animals live, sleep or eat; a finish gives off vapour for "
        "days after it feels dry. Where it cannot be otherwise, keep everyone out until the smell has gone and the label's "
        "time has passed, and air the place to the outside all that while.",
        "any work or the shop in a place that is lived in, or where nobody has answered that",
        "29 CFR 1910.107(d)(12) (a drying space without ventilation counts as a spray area); the rest: common practice",
    },
    [CAUTION_STORAGE] = {
        "Tins shut; no more than a day's supply",
        "Keep about a day's supply where you spray, in original closed containers or safety cans, and the rest in a closed "
        "metal cabinet away from exits, stairs, heat and flames. Local rules limit how much a home or shop may hold; ask the "
        "fire authority. Shut every tin as soon as it is poured from, and hang an extinguisher for flammable liquids 10 to "
        "25 ft (3 to 7.5 m) away.",
        "a coat of a flammable material, and always in the shop",
        "29 CFR 1910.107(e)(2) and (e)(3); 29 CFR 1910.106(d)(3), (d)(5)(i), (d)(7) and (e)(2)(iv)",
    },
    [CAUTION_LEAVING] = {
        "Leaving: rags, tins, fan, heater, oven",
        "Oily rags under water in a metal can with its lid on; tins, thinner and gun wash shut; the fan on until the air has cleared; heater "
        "and pilot off; oven cold; chargers out. See to all of it before you leave the shop, and go back once within the hour to look "
        "again.",
        "always in the shop; told by itself after spraying or oiling",
        "29 CFR 1910.107(d)(12), (e)(3) and (g)(3); 29 CFR 1910.106(e)(9)(iii); going back once: common practice",
    },
    [CAUTION_WASTE] = {
        "Solvent and sludge to the waste point",
        "Solvent, gun wash, stripper sludge, old-finish dust and spray filters are hazardous waste: covered metal cans, out "
        "of the shop daily, to the local collection point. Nothing down a drain, onto the ground or into the household bin. "
        "Residues that can light each other must not meet on one filter; used filters go into water in a metal can.",
        "every coat, sanding, stripping, and always in the shop",
        "29 CFR 1910.107(b)(5)(ii), (b)(5)(v), (b)(5)(vi) and (g)(3); 29 CFR 1910.106(e)(9)(iii); 29 CFR 1926.252(e); drains and "
        "bin: common practice",
    },
    [CAUTION_CHILDREN] = {
        "Children, pets, the pregnant stay out",
        "Keep children, pets and anyone pregnant away from wet finishes, stripping and the dust of old ones, and from tins, "
        "cans and the hot oven. Lead dust and some solvents harm a child before birth too. Wash your hands and change your "
        "clothes before you go to them.",
        "any work, and always in the shop",
        "16 CFR 1500.130(b) (cans); 16 CFR 1303.1(c) (lead); toluene and glycol ethers: second-hand; the rest: common practice",
    },
    [CAUTION_LABEL_FIRST] = {
        "Label and safety data sheet come first",
        "The product label, its safety data sheet, local codes and licensed practice come before every figure and word here. "
        "Times are estimates from the air the shop had; they say nothing about what is safe to breathe or to light. Where "
        "two of them differ, follow the stricter.",
        "any work, and always in the shop",
        "common practice; 29 CFR 1910.94(c)(8) and 1910.107(n): even the federal rules leave out small portable work",
    },
};
_Static_assert(sizeof texts / sizeof *texts == CAUTION_COUNT, "one text a caution");

/* When: `always` for these subjects, and for `also` where the condition holds. */
enum condition {
    IF_HAZARD,             /* the material has it */
    IF_HAZARD_AND_SPRAYED, /* ... and it went on as a mist */
    IF_HAZARD_OR_SPRAYED,
    IF_RISK,               /* the place has it */
    IF_MAYBE_LEAD,
};

struct rule {
    unsigned always, also; /* sets of subjects */
    enum condition condition;
    unsigned which; /* enum hazard or enum place_risk */
};

#define COAT (1u << CAUTION_FOR_COAT)
#define BAKE (1u << CAUTION_FOR_BAKE)
#define STRIP (1u << CAUTION_FOR_STRIP)
#define SAND (1u << CAUTION_FOR_SAND)
#define SHOP (1u << CAUTION_FOR_SHOP)
#define VAPOUR (COAT | BAKE | STRIP | SHOP) /* where there is vapour about */
#define ANY (VAPOUR | SAND)

static const struct rule rules[] = {
    [CAUTION_RAGS] = {SHOP, COAT | BAKE | SAND, IF_HAZARD, HAZARD_SELF_HEATING},
    [CAUTION_ISOCYANATE] = {0, COAT | BAKE | SAND, IF_HAZARD, HAZARD_ISOCYANATE},
    [CAUTION_VENTILATION] = {.always = VAPOUR},
    [CAUTION_FLAME] = {.always = VAPOUR},
    [CAUTION_PILOT] = {0, VAPOUR, IF_RISK, RISK_PILOT},
    [CAUTION_HEATER] = {0, VAPOUR, IF_RISK, RISK_OPEN_FLAME_HEATER},
    [CAUTION_BAKE] = {BAKE, COAT, IF_HAZARD, HAZARD_BAKED},
    [CAUTION_BAKE_FLASH] = {BAKE, COAT, IF_HAZARD, HAZARD_BAKED},
    [CAUTION_OVEN_PLACE] = {BAKE | SHOP, COAT, IF_HAZARD, HAZARD_BAKED},
    [CAUTION_LEAD] = {0, ANY, IF_MAYBE_LEAD, 0},
    [CAUTION_STRIPPER] = {.always = STRIP},
    [CAUTION_SANDING_DUST] = {.always = SAND | STRIP | SHOP},
    [CAUTION_RESPIRATOR] = {SAND | STRIP | SHOP, COAT, IF_HAZARD_OR_SPRAYED, HAZARD_SOLVENT},
    [CAUTION_TWO_PART] = {0, COAT, IF_HAZARD_AND_SPRAYED, HAZARD_TWO_PART},
    [CAUTION_AEROSOL] = {SHOP, COAT, IF_HAZARD, HAZARD_AEROSOL},
    [CAUTION_SOLVENT_SKIN] = {.always = COAT | STRIP | SHOP},
    [CAUTION_SENSITISER] = {0, COAT | SAND, IF_HAZARD, HAZARD_SKIN_SENSITISER},
    [CAUTION_STATIC] = {SHOP, COAT, IF_HAZARD, HAZARD_FLAMMABLE},
    [CAUTION_FAN_MOTOR] = {0, VAPOUR, IF_RISK, RISK_FAN_MOTOR_IN_STREAM},
    [CAUTION_ELECTRONICS] = {0, VAPOUR, IF_RISK, RISK_ELECTRONICS_NEAR},
    [CAUTION_BELOW_GROUND] = {0, VAPOUR, IF_RISK, RISK_BELOW_GROUND},
    [CAUTION_ATTACHED] = {0, ANY, IF_RISK, RISK_ATTACHED},
    [CAUTION_LIVED_IN] = {0, ANY, IF_RISK, RISK_LIVED_IN},
    [CAUTION_STORAGE] = {SHOP, COAT, IF_HAZARD, HAZARD_FLAMMABLE},
    [CAUTION_LEAVING] = {.always = SHOP},
    [CAUTION_WASTE] = {.always = COAT | SAND | STRIP | SHOP},
    [CAUTION_CHILDREN] = {.always = ANY},
    [CAUTION_LABEL_FIRST] = {.always = ANY},
};
_Static_assert(sizeof rules / sizeof *rules == CAUTION_COUNT, "one rule a caution");

/* While a coat is wet these stand first, in the order of their weight. */
static const enum caution hands_today[] = {
    CAUTION_RAGS, CAUTION_VENTILATION, CAUTION_FLAME, CAUTION_PILOT, CAUTION_HEATER,
};

const char *caution_word(enum caution caution)
{
    return (unsigned)caution < CAUTION_COUNT ? words[caution] : "?";
}

bool caution_from_word(const char *word, enum caution *ret_caution)
{
    for (unsigned i = 0; i < CAUTION_COUNT; i++) {
        if (strcmp(words[i], word) != 0)
            continue;
        *ret_caution = (enum caution)i;
        return true;
    }
    return false;
}

const struct caution_text *caution_text(enum caution caution)
{
    /* A code from nowhere gets the caution that is always right. */
    return &texts[(unsigned)caution < CAUTION_COUNT ? caution : CAUTION_LABEL_FIRST];
}

static bool from_can(const struct caution_query *query)
{
    return query->application == APPLY_AEROSOL;
}

/* A can adds propellant to whatever is in it. */
static bool has_hazard(const struct caution_query *query, enum hazard hazard)
{
    bool propellant = hazard == HAZARD_AEROSOL || hazard == HAZARD_FLAMMABLE || hazard == HAZARD_SOLVENT;
    if (query->material == NULL || (propellant && from_can(query)))
        return true;
    return material_hazard(query->material, hazard);
}

static bool condition_holds(const struct caution_query *query, const struct rule *rule)
{
    bool sprayed = query->application == APPLY_SPRAY || from_can(query);
    switch (rule->condition) {
    case IF_HAZARD: return has_hazard(query, (enum hazard)rule->which);
    case IF_HAZARD_AND_SPRAYED: return sprayed && has_hazard(query, (enum hazard)rule->which);
    case IF_HAZARD_OR_SPRAYED: return sprayed || has_hazard(query, (enum hazard)rule->which);
    case IF_RISK: return query->place_risk[rule->which] != ANSWER_NO;
    case IF_MAYBE_LEAD: return query->old_finish != OLD_FINISH_CLEAR;
    }
    return true;
}

static bool applies(const struct caution_query *query, enum caution caution)
{
    const struct rule *rule = &rules[caution];
    unsigned subject = (unsigned)query->subject <= CAUTION_FOR_SHOP ? 1u << query->subject : ANY;
    return (rule->always & subject) != 0 || ((rule->also & subject) != 0 && condition_holds(query, rule));
}

static void take(bool present[CAUTION_COUNT], enum caution caution, struct caution_set *ret)
{
    if (present[caution])
        ret->code[ret->count++] = caution;
    present[caution] = false;
}

/* Writes out what is present; what asks for a hand today leads while a coat is wet. */
static void put_in_order(bool present[CAUTION_COUNT], bool wet, struct caution_set *ret)
{
    *ret = (struct caution_set){.wet = wet};
    for (size_t i = 0; wet && i < sizeof hands_today / sizeof *hands_today; i++)
        take(present, hands_today[i], ret);
    for (unsigned i = 0; i < CAUTION_COUNT; i++)
        take(present, (enum caution)i, ret);
}

void cautions_for(const struct caution_query *query, struct caution_set *ret)
{
    bool present[CAUTION_COUNT];
    for (unsigned i = 0; i < CAUTION_COUNT; i++)
        present[i] = applies(query, (enum caution)i);
    put_in_order(present, query->wet, ret);
}

static void mark(const struct caution_set *set, bool present[CAUTION_COUNT])
{
    for (unsigned i = 0; i < set->count && i < CAUTION_COUNT; i++)
        if ((unsigned)set->code[i] < CAUTION_COUNT)
            present[set->code[i]] = true;
}

void cautions_merge(struct caution_set *into, const struct caution_set *from)
{
    bool present[CAUTION_COUNT] = {false};
    mark(into, present);
    mark(from, present);
    put_in_order(present, into->wet || from->wet, into);
}
