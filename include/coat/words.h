/* The vocabulary: every word that the store, the API, the command line and the page use for a kind of thing,
 * once. Each enum is made from its list, and so are the two functions that turn it into its word and back:
 *
 *     const char *stage_word(enum stage value);                 the word; never NULL, "?" for a value outside
 *     bool stage_from_word(const char *word, enum stage *ret);  exact match; *ret untouched when false
 *
 * The words are part of the file format and of the API: append, never rename. */
#ifndef COAT_WORDS_H
#define COAT_WORDS_H

#include <stdbool.h>

/* What a coat is there for. */
#define COAT_ROLES(X)                                                                                    \
    X(ROLE_PRIMER, "primer") X(ROLE_FILLER, "filler") X(ROLE_ENAMEL, "enamel") X(ROLE_JAPAN, "japan")     \
    X(ROLE_SIZE, "size") X(ROLE_LEAF, "leaf") X(ROLE_DECAL, "decal") X(ROLE_TOUCH_UP, "touch-up")         \
    X(ROLE_CLEAR, "clear")

/* Points that a coat reaches. They may be met out of order (ISO 9117-5). Meanings in our own words after ASTM D1640 section 7 (as summarised in
 * public texts), FED-STD-141 method 4061.3 and ISO 9117; tape, unmask, seal and bake are workshop stages without a standard test.
 *     touch      a light finger takes no paint away, though the film may still be tacky
 *     dust-free  dust that settles can be blown or wiped off
 *     tack-free  paper pressed on it falls away; nothing sticks
 *     handle     takes a firm thumb with a twist without loosening or wrinkling; may be handled
 *     tape       takes masking tape without a mark; never before it may be handled
 *     unmask     the masking tape over this coat may be pulled with a clean edge
 *     sand       powders under abrasive paper instead of rolling up
 *     recoat     the next coat may go on without lifting, wrinkling or loss of adhesion
 *     leaf       the size has its tack and takes metal leaf
 *     seal       the leaf may be covered with a clear
 *     bake       flashed off: solvent is out far enough to enter the oven
 *     cure       cured through; as hard and as solvent-proof as it gets */
#define COAT_STAGES(X)                                                                                   \
    X(STAGE_TOUCH, "touch") X(STAGE_DUST_FREE, "dust-free") X(STAGE_TACK_FREE, "tack-free")               \
    X(STAGE_HANDLE, "handle") X(STAGE_TAPE, "tape") X(STAGE_UNMASK, "unmask") X(STAGE_SAND, "sand")       \
    X(STAGE_RECOAT, "recoat") X(STAGE_LEAF, "leaf") X(STAGE_SEAL, "seal") X(STAGE_BAKE, "bake")           \
    X(STAGE_CURE, "cure")

/* What to do in a span of a window. `test`: try it with a finger before relying on it (adhesive size). */
#define COAT_SPANS(X)                                                                                    \
    X(SPAN_WAIT, "wait") X(SPAN_GO, "go") X(SPAN_WIPE, "wipe") X(SPAN_SCUFF, "scuff")                     \
    X(SPAN_STRIP, "strip") X(SPAN_TEST, "test")

/* How a stage of a coat stands, derived from the span that now is in. */
#define COAT_STATES(X)                                                                                   \
    X(STATE_WAITING, "waiting") X(STATE_OPEN, "open") X(STATE_CLOSING, "closing") X(STATE_SHUT, "shut")   \
    X(STATE_PREPARE, "prepare") X(STATE_MISSED, "missed") X(STATE_USED, "used") X(STATE_REACHED, "reached")

/* Why a coat does not move on. */
#define COAT_STALLS(X)                                                                                   \
    X(STALL_NONE, "none") X(STALL_COLD, "too-cold") X(STALL_DAMP, "too-damp") X(STALL_AIR_UNKNOWN, "air-unknown")

/* Why a person must look at a coat. */
#define COAT_INSPECTS(X) X(INSPECT_NOT, "not") X(INSPECT_AIR, "air") X(INSPECT_DEW, "dew")

/* Where the air behind a figure came from. */
#define COAT_AIR_BASES(X)                                                                                \
    X(AIR_MEASURED, "measured") X(AIR_ASSUMED, "assumed") X(AIR_FORECAST, "forecast")

/* How a coat was laid where nobody measured the film. */
#define COAT_FILMS(X) X(FILM_LIGHT, "light") X(FILM_NORMAL, "normal") X(FILM_HEAVY, "heavy")

/* How damp air acts on a material. `none`: not slowed (two-part epoxies, solvent evaporation). */
#define COAT_HUMIDITY_RULES(X)                                                                           \
    X(HUMIDITY_SOLVENT, "solvent") X(HUMIDITY_WATER, "water") X(HUMIDITY_OXIDISING, "oxidising")          \
    X(HUMIDITY_MOISTURE, "moisture")

/* How it is put on. */
#define COAT_APPLICATIONS(X)                                                                             \
    X(APPLY_BRUSH, "brush") X(APPLY_SPRAY, "spray") X(APPLY_AEROSOL, "aerosol") X(APPLY_DIP, "dip")        \
    X(APPLY_TRANSFER, "transfer")

#define COAT_PLACE_KINDS(X)                                                                              \
    X(PLACE_ROOM, "room") X(PLACE_BOOTH, "booth") X(PLACE_CABINET, "cabinet") X(PLACE_OVEN, "oven")       \
    X(PLACE_SHELF, "shelf")

#define COAT_OLD_FINISHES(X)                                                                             \
    X(OLD_FINISH_NOT_TESTED, "not tested") X(OLD_FINISH_LEAD, "lead") X(OLD_FINISH_CLEAR, "tested clear")

/* An answer that may be missing; a missing one counts as the worst of its class. */
#define COAT_ANSWERS(X) X(ANSWER_NONE, "unanswered") X(ANSWER_YES, "yes") X(ANSWER_NO, "no")

/* Hazards of a material (questions that a label or its safety data sheet answers). */
#define COAT_HAZARDS(X)                                                                                  \
    X(HAZARD_SOLVENT, "solvent")             /* gives off organic vapour */                              \
    X(HAZARD_FLAMMABLE, "flammable")         /* flammable liquid or vapour */                            \
    X(HAZARD_AEROSOL, "aerosol")             /* pressurised can with flammable propellant */             \
    X(HAZARD_SELF_HEATING, "self-heating")   /* drying oils: rags and overspray heat themselves */       \
    X(HAZARD_TWO_PART, "two-part")           /* mixed from two reactive parts */                         \
    X(HAZARD_ISOCYANATE, "isocyanate")       /* contains isocyanates */                                  \
    X(HAZARD_BAKED, "baked")                 /* cured in an oven */                                      \
    X(HAZARD_SKIN_SENSITISER, "skin-sensitiser") /* epoxy resins and amines, turpentine */

/* What makes a place risky. */
#define COAT_PLACE_RISKS(X)                                                                              \
    X(RISK_BELOW_GROUND, "below-ground") X(RISK_ATTACHED, "attached") X(RISK_LIVED_IN, "lived-in")        \
    X(RISK_PILOT, "pilot-or-furnace") X(RISK_OPEN_FLAME_HEATER, "open-flame-heater")                      \
    X(RISK_FAN_MOTOR_IN_STREAM, "fan-motor-in-stream") X(RISK_ELECTRONICS_NEAR, "electronics-near")

#define COAT_NOTICE_KINDS(X)                                                                             \
    X(NOTICE_OPENS, "window-opens") X(NOTICE_CLOSING, "window-closing") X(NOTICE_SHUT, "window-shut")     \
    X(NOTICE_PREPARE, "window-prepare") X(NOTICE_MISSED, "window-missed") X(NOTICE_REACHED, "stage-reached") \
    X(NOTICE_STALLED, "stalled") X(NOTICE_INSPECT, "inspect") X(NOTICE_AIR_UNKNOWN, "air-unknown")        \
    X(NOTICE_CORRECTION, "correction") X(NOTICE_MIX_READY, "mix-ready") X(NOTICE_POT_LIFE, "pot-life-ending")   \
    X(NOTICE_SENSOR_FAULT, "sensor-fault") X(NOTICE_SENSORS_DISAGREE, "sensors-disagree")                 \
    X(NOTICE_LEAVING, "leaving-the-shop") X(NOTICE_MORNING, "morning-list")                               \
    X(NOTICE_SPRAY_HOURS, "spray-hours-coming") X(NOTICE_BAKE_STEP, "bake-step")                          \
    X(NOTICE_PLAN_SLIPPED, "plan-slipped")

/* Where notices go, beside the page. */
#define COAT_CHANNEL_KINDS(X)                                                                            \
    X(CHANNEL_COMMAND, "command")        /* a program of this machine, the notice on its standard input */ \
    X(CHANNEL_WEBHOOK, "webhook")        /* posted as JSON, signed */                                    \
    X(CHANNEL_MAIL, "mail")              /* through a mail server */                                     \
    X(CHANNEL_MQTT, "mqtt")              /* published at a broker */                                     \
    X(CHANNEL_CALENDAR, "calendar")      /* fetched by a calendar program through a secret link */

/* What a time is made of, see shop_why(). */
#define COAT_WHYS(X)                                                                                     \
    X(WHY_TABLE, "table")               /* hours of the label or the built-in table, at a temperature */ \
    X(WHY_FILM, "film") X(WHY_FILMS_UNDER, "films-under") X(WHY_SHOP_FACTOR, "shop-factor")               \
    X(WHY_NIGHT, "night")               /* temperature from one noon to the next */                      \
    X(WHY_OTHER_AIR, "other-air")       /* temperature of all other days */                              \
    X(WHY_DAMP, "damp") X(WHY_TOO_COLD, "too-cold") X(WHY_TOO_DAMP, "too-damp")                           \
    X(WHY_ASSUMED, "assumed-air") X(WHY_TO_COME, "to-come") X(WHY_LABEL_FLOOR, "label-floor") \
    X(WHY_COLD_CASTING, "cold-casting") /* it was carried in cold, and warmed through slowly */

/* Why a coat may not be put on, see coat/check.h. The first says that nothing speaks against it. */
#define COAT_CHECK_REASONS(X)                                                                            \
    X(CHECK_NOTHING, "nothing") X(CHECK_TOO_COLD, "too-cold") X(CHECK_TOO_HOT, "too-hot")                 \
    X(CHECK_TOO_DAMP, "too-damp")                                                                         \
    X(CHECK_DEW, "dew")                 /* less than 3 C above the dew point */                           \
    X(CHECK_SURFACE_DEW, "surface-dew") /* the same of a piece that lags behind air that would do */       \
    X(CHECK_SURFACE_COLD, "surface-cold") /* such a piece, colder than the limit */                       \
    X(CHECK_NOT_CURED, "not-cured-in-time") X(CHECK_NO_AIR, "no-air")                                     \
    X(CHECK_NOT_OPEN, "not-open")       /* the coat below: its window is shut */                          \
    X(CHECK_MISSED, "window-missed")    /* the coat below: strip it */                                    \
    X(CHECK_INCOMPATIBLE, "incompatible")

/* What goes over what. */
#define COAT_COMPATS(X)                                                                                  \
    X(COMPAT_OK, "ok") X(COMPAT_CARE, "with-care") X(COMPAT_NO, "no") X(COMPAT_TEST, "test-patch")

/* Where a figure comes from, the way the tables mark it. */
#define COAT_BASES(X)                                                                                    \
    X(BASIS_PUBLISHED, "published")      /* read in a published text, named beside it */                 \
    X(BASIS_DERIVED, "worked out")       /* arithmetic on published figures */                           \
    X(BASIS_PRACTICE, "common practice") /* no published source found */                                 \
    X(BASIS_MEMORY, "from memory")       /* not checked */                                               \
    X(BASIS_LABEL, "label")              /* typed in by the user from the tin */

/* Built-in classes of material (section 12 of the curing notes, plus touch-up enamel). */
#define COAT_CLASSES(X)                                                                                  \
    X(CLASS_ALKYD_ENAMEL, "alkyd-enamel") X(CLASS_SPRAY_ENAMEL, "spray-enamel")                           \
    X(CLASS_ALKYD_PRIMER, "alkyd-primer") X(CLASS_LACQUER, "lacquer") X(CLASS_SHELLAC, "shellac")         \
    X(CLASS_OIL_VARNISH, "oil-varnish") X(CLASS_EPOXY_PRIMER, "epoxy-primer")                             \
    X(CLASS_EPOXY_BUILD, "epoxy-build") X(CLASS_POLYURETHANE, "polyurethane")                             \
    X(CLASS_WATERBORNE, "waterborne") X(CLASS_SIZE_QUICK, "oil-size-quick")                               \
    X(CLASS_SIZE_SLOW, "oil-size-slow") X(CLASS_SIZE_JAPAN, "japan-size")                                 \
    X(CLASS_SIZE_WATER, "water-size") X(CLASS_TRANSFER, "waterslide-transfer")                            \
    X(CLASS_BAKING_JAPAN, "baking-japan") X(CLASS_STOVING_ENAMEL, "stoving-enamel")                       \
    X(CLASS_TOUCH_UP, "touch-up-enamel")

/* Where readings come from. */
#define COAT_SENSOR_KINDS(X)                                                                             \
    X(SENSOR_BY_HAND, "by-hand")         /* a person types them */                                       \
    X(SENSOR_SYSFS, "sysfs")             /* a device of the kernel: industrial I/O, hwmon, 1-wire */      \
    X(SENSOR_COMMAND, "command")         /* what a command prints */                                     \
    X(SENSOR_MQTT, "mqtt")               /* a topic of a broker */                                       \
    X(SENSOR_PUSH, "push")               /* posted to the API with a token of its own */                 \
    X(SENSOR_IMPORT, "import")           /* a file of past readings */

/* How a sensor does. */
#define COAT_SENSOR_STATES(X)                                                                            \
    X(SENSOR_OK, "ok") X(SENSOR_NO_READING, "no-reading-yet") X(SENSOR_SILENT, "silent")                  \
    X(SENSOR_FAULTY, "faulty")           /* it says something, but nothing that can be used */

#define COAT_AIR_QUANTITIES(X) X(AIR_TEMP, "temperature") X(AIR_RH, "humidity")

/* What a source's plain numbers mean. */
#define COAT_TEMP_SCALES(X) X(TEMP_SCALE_C, "C") X(TEMP_SCALE_F, "F") X(TEMP_SCALE_K, "K") X(TEMP_SCALE_MILLI_C, "mC")
#define COAT_RH_SCALES(X) X(RH_SCALE_PCT, "%") X(RH_SCALE_FRACTION, "fraction") X(RH_SCALE_MILLI_PCT, "m%")

/* What is thought of a reading, see coat/judge.h. The first says that it counts. */
#define COAT_JUDGEMENTS(X)                                                                               \
    X(JUDGE_GOOD, "good") X(JUDGE_IMPLAUSIBLE, "implausible") X(JUDGE_WRONG_UNIT, "wrong-unit")           \
    X(JUDGE_SPIKE, "spike") X(JUDGE_STUCK, "stuck") X(JUDGE_FAULT_VALUE, "fault-value")                   \
    X(JUDGE_FUTURE, "from-the-future") X(JUDGE_CLOCK, "clock-not-set")

/* What is said of vapour against a limit. Never that it is safe. */
#define COAT_VAPOUR_FINDINGS(X)                                                                          \
    X(VAPOUR_EXCEEDS, "exceeds") X(VAPOUR_NOT_SHOWN, "not shown to exceed") X(VAPOUR_UNKNOWN, "not known")

/* How near a liquid's surface is to giving off enough to burn, see coat/vapour.h. */
#define COAT_VAPOUR_IGNITIONS(X)                                                                         \
    X(VAPOUR_IGNITES, "ignites")                                                                          \
    X(VAPOUR_WARM, "near-flash-point") X(VAPOUR_BELOW_FLASH, "below-flash-point")                         \
    X(VAPOUR_FLASH_UNKNOWN, "flash-point-unknown")

/* What would make the sums of a place better known, see coat/shop_vapour.h. */
#define COAT_VAPOUR_WANTS(X)                                                                             \
    X(VAPOUR_WANT_VOLUME, "volume") X(VAPOUR_WANT_AMOUNTS, "amounts") X(VAPOUR_WANT_SOLVENTS, "solvents") \
    X(VAPOUR_WANT_FEWER, "fewer") X(VAPOUR_WANT_AIRFLOW, "airflow")                                        \
    X(VAPOUR_WANT_MEASURED, "airflow-measured") X(VAPOUR_WANT_LOW_EXHAUST, "low-exhaust")                 \
    X(VAPOUR_WANT_COMPOSITION, "composition")

/* Flammable liquids, 29 CFR 1910.106(a)(19). */
#define COAT_SOLVENT_CATEGORIES(X)                                                                       \
    X(SOLVENT_CATEGORY_1, "category-1") X(SOLVENT_CATEGORY_2, "category-2")                               \
    X(SOLVENT_CATEGORY_3, "category-3") X(SOLVENT_CATEGORY_4, "category-4")                               \
    X(SOLVENT_NOT_CATEGORISED, "none")          /* flash point above 93 C */                             \
    X(SOLVENT_GAS, "gas")                       /* no liquid; aerosols of one count as category 1, (a)(13) */ \
    X(SOLVENT_CATEGORY_UNKNOWN, "unknown")      /* no flash point known */

/* How the air moves that a part is heated or cooled by, see coat/bake.h. */
#define COAT_OVEN_AIRS(X)                                                                                \
    X(OVEN_AIR_UNKNOWN, "unknown") X(OVEN_AIR_STILL, "still") X(OVEN_AIR_FAN, "fan") X(OVEN_AIR_ROOM, "room")

/* What the part of a bake is made of; figures in core/warm.c. */
#define COAT_METALS(X)                                                                                   \
    X(METAL_IRON, "iron") X(METAL_STEEL, "steel") X(METAL_ALUMINIUM, "aluminium") X(METAL_BRASS, "brass")

/* How far a bake has come. */
#define COAT_BAKE_STATES(X)                                                                              \
    X(BAKE_REVIEW, "review")             /* not begun: questions may be open */                          \
    X(BAKE_GIVEN_UP, "given-up")         /* ended before it began */                                     \
    X(BAKE_HEATING, "heating")           /* no part has begun to bake for sure */                        \
    X(BAKE_SOAKING, "soaking")                                                                           \
    X(BAKE_DONE, "done")                 /* each part is baked, by the least baked that it can be: the heat may go */ \
    X(BAKE_INTERRUPTED, "interrupted")   /* what the oven did is not known */                            \
    X(BAKE_COOLING, "cooling")           /* ended, and not yet cool enough to touch */                   \
    X(BAKE_COLD, "cold")

/* What of a bake is told; a notice's `boundary` is BAKE_MOMENT_STEPS times this, and the number of the step. */
#define COAT_BAKE_MOMENTS(X)                                                                             \
    X(BAKE_MOMENT_NEXT_STEP, "next-step") X(BAKE_MOMENT_TURN_DOWN, "turn-down")                           \
    X(BAKE_MOMENT_TOO_LONG, "too-long") X(BAKE_MOMENT_TOO_HOT, "too-hot")                                 \
    X(BAKE_MOMENT_UNREAD, "unread") X(BAKE_MOMENT_INTERRUPTED, "interrupted") X(BAKE_MOMENT_COOL, "cool")

/* What there is too much of. */
#define COAT_BAKE_EXCESSES(X)                                                                            \
    X(BAKE_EXCESS_NONE, "none") X(BAKE_EXCESS_LONG, "too-long") X(BAKE_EXCESS_HOT, "too-hot")

/* Questions of the review before a bake. Each is worded, with the answer that it must have, in core/bake_review.c. */
#define COAT_BAKE_ITEMS(X)                                                                               \
    X(BAKE_ITEM_DEGREASED, "degreased") X(BAKE_ITEM_FLASHED_OFF, "flashed-off")                           \
    X(BAKE_ITEM_SEALED_HOLLOW, "sealed-hollow") X(BAKE_ITEM_LOOKED_OVER, "looked-over")                   \
    X(BAKE_ITEM_OLD_FINISH, "old-finish-clear") X(BAKE_ITEM_FOOD_OVEN, "food-oven")                       \
    X(BAKE_ITEM_OPEN_HEAT, "open-element-or-pilot") X(BAKE_ITEM_NEAR_SOLVENT, "near-solvent")             \
    X(BAKE_ITEM_BELOW_GROUND, "oven-below-ground") X(BAKE_ITEM_CUT_OUT, "cut-out")                        \
    X(BAKE_ITEM_EXHAUST, "exhaust") X(BAKE_ITEM_PURGED, "purged")                                         \
    X(BAKE_ITEM_EXTINGUISHER, "extinguisher") X(BAKE_ITEM_ATTENDED, "attended")

/* What a piece may have on it that heat ruins. */
#define COAT_BAKE_RUINS(X)                                                                               \
    X(BAKE_RUIN_SOLDER, "solder") X(BAKE_RUIN_FUSIBLE, "fusible-metal") X(BAKE_RUIN_BABBITT, "babbitt")   \
    X(BAKE_RUIN_ZINC, "zinc-casting") X(BAKE_RUIN_LEAD, "lead") X(BAKE_RUIN_TIN, "tin")                   \
    X(BAKE_RUIN_SPRING, "spring") X(BAKE_RUIN_CUTTER, "cutter") X(BAKE_RUIN_RUBBER, "rubber")             \
    X(BAKE_RUIN_CELLULOID, "celluloid") X(BAKE_RUIN_PLASTIC, "plastic") X(BAKE_RUIN_LEATHER, "leather")   \
    X(BAKE_RUIN_GLUE, "glue") X(BAKE_RUIN_SHELLAC, "shellac") X(BAKE_RUIN_WOOD, "wood")                   \
    X(BAKE_RUIN_CLOTH, "cloth-or-paper") X(BAKE_RUIN_DECAL, "decal") X(BAKE_RUIN_GILDING, "gilding")       \
    X(BAKE_RUIN_GREASE, "grease-or-wax") X(BAKE_RUIN_WIRING, "wiring") X(BAKE_RUIN_VIAL, "vial")           \
    X(BAKE_RUIN_CAPACITOR, "capacitor") X(BAKE_RUIN_REPAIR, "repair") X(BAKE_RUIN_HORN, "horn-or-bone")

/* Why a bake may not start. */
#define COAT_BAKE_REFUSALS(X)                                                                            \
    X(BAKE_REFUSE_ITEM, "item")          /* a question of the review is not answered as it must be */    \
    X(BAKE_REFUSE_RUIN, "ruin")          /* something on the piece */                                    \
    X(BAKE_REFUSE_EARLIER, "earlier-coat") X(BAKE_REFUSE_TOO_HOT, "too-hot")                              \
    X(BAKE_REFUSE_PEAK, "peak-unknown") X(BAKE_REFUSE_TOO_COLD, "too-cold")                               \
    X(BAKE_REFUSE_FLASH, "flash-off")    /* by the coat's own clock */                                   \
    X(BAKE_REFUSE_VAPOUR, "vapour") X(BAKE_REFUSE_OLD_FINISH, "old-finish")                               \
    X(BAKE_REFUSE_OVEN, "oven") X(BAKE_REFUSE_COAT, "coat")                                               \
    X(BAKE_REFUSE_TOO_LONG, "too-long")

#define COAT_UNITS_SYSTEMS(X) X(UNITS_METRIC, "metric") X(UNITS_US, "us")

/* LISTS(M): every list above as M(enum name, count name, function prefix, list). */
#define COAT_WORD_LISTS(M)                                                                               \
    M(role, ROLE_COUNT, COAT_ROLES) M(stage, STAGE_COUNT, COAT_STAGES) M(span_do, SPAN_COUNT, COAT_SPANS)  \
    M(state, STATE_COUNT, COAT_STATES) M(stall, STALL_COUNT, COAT_STALLS)                                 \
    M(inspect, INSPECT_COUNT, COAT_INSPECTS)                                                              \
    M(air_basis, AIR_BASIS_COUNT, COAT_AIR_BASES) M(film, FILM_COUNT, COAT_FILMS)                         \
    M(humidity_rule, HUMIDITY_RULE_COUNT, COAT_HUMIDITY_RULES)                                            \
    M(application, APPLICATION_COUNT, COAT_APPLICATIONS) M(place_kind, PLACE_KIND_COUNT, COAT_PLACE_KINDS) \
    M(old_finish, OLD_FINISH_COUNT, COAT_OLD_FINISHES) M(answer, ANSWER_COUNT, COAT_ANSWERS)              \
    M(hazard, HAZARD_COUNT, COAT_HAZARDS) M(place_risk, PLACE_RISK_COUNT, COAT_PLACE_RISKS)               \
    M(notice_kind, NOTICE_KIND_COUNT, COAT_NOTICE_KINDS) M(basis, BASIS_COUNT, COAT_BASES)                \
    M(material_class, MATERIAL_CLASS_COUNT, COAT_CLASSES)                                                 \
    M(why, WHY_COUNT, COAT_WHYS) M(units_system, UNITS_SYSTEM_COUNT, COAT_UNITS_SYSTEMS)                  \
    M(check_reason, CHECK_REASON_COUNT, COAT_CHECK_REASONS) M(compat, COMPAT_COUNT, COAT_COMPATS)          \
    M(sensor_kind, SENSOR_KIND_COUNT, COAT_SENSOR_KINDS) M(sensor_state, SENSOR_STATE_COUNT, COAT_SENSOR_STATES) \
    M(air_quantity, AIR_QUANTITY_COUNT, COAT_AIR_QUANTITIES) M(judgement, JUDGEMENT_COUNT, COAT_JUDGEMENTS)            \
    M(channel_kind, CHANNEL_KIND_COUNT, COAT_CHANNEL_KINDS)                                               \
    M(temp_scale, TEMP_SCALE_COUNT, COAT_TEMP_SCALES) M(rh_scale, RH_SCALE_COUNT, COAT_RH_SCALES)       \
    M(vapour_finding, VAPOUR_FINDING_COUNT, COAT_VAPOUR_FINDINGS)                                         \
    M(vapour_ignition, VAPOUR_IGNITION_COUNT, COAT_VAPOUR_IGNITIONS)                                      \
    M(vapour_want, VAPOUR_WANT_COUNT, COAT_VAPOUR_WANTS)                                                  \
    M(solvent_category, SOLVENT_CATEGORY_COUNT, COAT_SOLVENT_CATEGORIES)                                  \
    M(oven_air, OVEN_AIR_COUNT, COAT_OVEN_AIRS) M(bake_item, BAKE_ITEM_COUNT, COAT_BAKE_ITEMS)             \
    M(bake_ruin, BAKE_RUIN_COUNT, COAT_BAKE_RUINS)                                                        \
    M(metal, METAL_COUNT, COAT_METALS) M(bake_state, BAKE_STATE_COUNT, COAT_BAKE_STATES)                   \
    M(bake_moment, BAKE_MOMENT_COUNT, COAT_BAKE_MOMENTS) M(bake_excess, BAKE_EXCESS_COUNT, COAT_BAKE_EXCESSES) \
    M(bake_refusal_kind, BAKE_REFUSAL_KIND_COUNT, COAT_BAKE_REFUSALS)

#define COAT_WORD_MEMBER(value, word) value,
#define COAT_DECLARE_WORDS(name, count, list)                                                            \
    enum name { list(COAT_WORD_MEMBER) count };                                                           \
    const char *name##_word(enum name value);                                                             \
    bool name##_from_word(const char *word, enum name *ret_value);
COAT_WORD_LISTS(COAT_DECLARE_WORDS)
#undef COAT_DECLARE_WORDS

/* Whether the stage is a window (recoat, unmask, leaf): it has ends, and the next coat over it uses it up. */
bool stage_is_window(enum stage stage);

#endif
