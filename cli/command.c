#include "cli/command.h"

#include "cli/cli.h"

#include <string.h>

#define HELP_INDENT 2
#define HELP_WIDTH 80

#define END {.name = NULL}

/* ---- options ---- */

#define OPTION(option_name, value_name, about) {.name = option_name, .value = value_name, .help = about}

const struct option options_global[] = {
    {"--server", "URL", "the daemon (COAT_SERVER; http://127.0.0.1:8262)", .many = false},
    {"--json", NULL, "print the API's document unchanged", .many = true},
    {"--units", "metric|us", "the shop's unless told", .words = units_words},
    {"--no-color", NULL, "plain text only (NO_COLOR likewise)", .many = true},
    {"--help", NULL, "what a command takes", .many = true},
    {"--version", NULL, "print the version", .many = true},
    END,
};

#define OPTION_AREA {"--area", "A", "part of the piece: front, rim", .kind = FIELD_TEXT, .field = "area"}
#define OPTION_AT {"--at", "WHEN", "14:30, \"20 min ago\", \"Tue 18:00\"; now unless told", .kind = FIELD_WHEN, .field = "at"}
#define OPTION_NAME {"--name", "NAME", "another name", .kind = FIELD_TEXT, .field = "name"}

/* What is told of a coat, when it is logged and when it is corrected. */
#define OPTIONS_COAT                                                                                                    \
    {"--role", "ROLE", "what it is there for", .kind = FIELD_WORD, .field = "role", .words = role_words},                \
    {"--application", "HOW", "how it is put on", .kind = FIELD_WORD, .field = "application", .words = application_words}, \
    {"--at", "WHEN", "14:30, \"20 min ago\", \"yesterday 18:00\", \"Tue 18:00\", RFC 3339", .kind = FIELD_WHEN, .field = "last_at"}, \
    {"--from", "WHEN", "the first pass: closings count from it", .kind = FIELD_WHEN, .field = "first_at"},               \
    {"--to", "WHEN", "the last pass: openings count from it", .kind = FIELD_WHEN, .field = "last_at"},                   \
    {"--passes", "N", "light passes it was laid in", .kind = FIELD_COUNT, .field = "passes"},                            \
    OPTION_AREA,                                                                                                         \
    {"--film", "HOW", "how it was laid, where nobody measured", .kind = FIELD_WORD, .field = "film", .words = film_words}, \
    {"--wet", "D", "wet film, measured: 60um or 2.4mil", .kind = FIELD_QUANTITY, .field = "wet_um", .quantity = QUANTITY_FILM}, \
    {"--dry", "D", "dry film, measured", .kind = FIELD_QUANTITY, .field = "dry_um", .quantity = QUANTITY_FILM},          \
    {"--amount", "V", "what was used: 40ml", .kind = FIELD_QUANTITY, .field = "amount_ml", .quantity = QUANTITY_VOLUME}, \
    OPTION("--thinned", "10%:NAME", "share and name of the thinner"),                                                          \
    {"--note", "TEXT", "anything else", .kind = FIELD_TEXT, .field = "note"}

static const struct option log_options[] = {
    OPTIONS_COAT,
    OPTION("--tin", "TIN", "the tin that it came from"),
    OPTION("--place", "PLACE", "where it hangs; it is moved there"),
    OPTION("--air", "TEMP,RH", "the air at the last pass: 18C,55%"),
    END,
};
static const struct option amend_options[] = {
    OPTIONS_COAT,
    OPTION("--tin", "TIN", "the tin that it came from; none: not known"),
    OPTION("--piece", "PIECE", "the piece that it is on"),
    OPTION("--material", "NAME", "another material, or the newest version of this one"),
    END,
};
static const struct option show_options[] = {
    OPTION("--record", NULL, "all entries of a coat, the corrected ones too"),
    END,
};
static const struct option strike_options[] = {{"--why", "TEXT", "the reason", .kind = FIELD_TEXT, .field = "why"}, END};
static const struct option at_options[] = {OPTION_AT, END};
static const struct option strip_options[] = {
    OPTION_AREA,
    OPTION("--down-to", "COAT", "this coat and those under it stay"),
    OPTION_AT,
    END,
};

#define OPTIONS_PIECE                                                                                                   \
    {"--old-finish", "WHAT", "what was on it; untested counts as lead", .kind = FIELD_WORD, .field = "old_finish",       \
     .words = old_finish_words},                                                                                         \
    OPTION("--areas", "A,B", "parts that are coated apart: front,back"),                                                       \
    {"--mass", "M", "12kg", .kind = FIELD_QUANTITY, .field = "mass_kg", .quantity = QUANTITY_MASS, .divisor = 1000.0},   \
    {"--wall", "D", "thickness of the casting: 6mm", .kind = FIELD_QUANTITY, .field = "wall_mm", .quantity = QUANTITY_LENGTH}, \
    {"--note", "TEXT", "anything else", .kind = FIELD_TEXT, .field = "note"}
static const struct option piece_add_options[] = {OPTION("--place", "PLACE", "where it hangs"), OPTIONS_PIECE, END};
static const struct option piece_edit_options[] = {OPTION_NAME, OPTIONS_PIECE, END};
static const struct option piece_photo_options[] = {
    OPTION("--note", "TEXT", "what it shows"),
    OPTION("--remove", "N", "take photo N out of the record, for good"),
    END,
};
static const struct option rack_edit_options[] = {
    OPTION_NAME,
    OPTION("--pieces", "PIECE,PIECE", "its pieces, all of them"),
    END,
};

#define OPTIONS_PLACE                                                                                                   \
    {"--kind", "KIND", "what it is", .kind = FIELD_WORD, .field = "kind", .words = place_kind_words},                    \
    {"--volume", "V", "60m3 or 2100ft3", .kind = FIELD_QUANTITY, .field = "volume_m3", .quantity = QUANTITY_ROOM},       \
    {"--airflow", "Q", "what its exhaust moves: 300m3h or 180cfm", .kind = FIELD_QUANTITY, .field = "airflow_m3h",             \
     .quantity = QUANTITY_AIRFLOW},                                                                                      \
    {"--airflow-measured", "yes|no", "that was measured; else it counts half", .kind = FIELD_YES_NO,                      \
     .field = "airflow_measured"},                                                                                       \
    {"--low-exhaust", "yes|no", "it draws from low down, where vapour lies; unanswered counts as no",                    \
     .kind = FIELD_WORD, .field = "low_exhaust", .words = answer_words},                                                 \
    {"--risk", "RISK=yes|no", "what makes it risky; unanswered counts as yes", .many = true}
static const struct option place_add_options[] = {OPTIONS_PLACE, END};
static const struct option place_edit_options[] = {OPTION_NAME, OPTIONS_PLACE, END};

static const struct option check_options[] = {
    OPTION("--piece", "PIECE", "what it would go on: its coats, and how cold it is"),
    OPTION_AREA,
    OPTION("--at", "WHEN", "18:00 (the next one), \"tomorrow 08:00\", \"in 3h\", RFC 3339; now unless told"),
    END,
};
static const struct option mix_options[] = {OPTION("--place", "PLACE", "where it stands: its air counts"), OPTION_AT, END};
#define OPTIONS_TIN                                                                                                     \
    {"--batch", "B", "the maker's batch, as printed", .kind = FIELD_TEXT, .field = "batch"},                             \
    OPTION("--opened", "WHEN", "when it was opened: a date or a time; none: shut"),                                      \
    OPTION("--keep-by", "DATE", "2027-03-31 or 2027-03, the whole of it; none: not printed")
static const struct option tin_add_options[] = {OPTIONS_TIN, END};
static const struct option tin_edit_options[] = {OPTION_NAME, OPTION("--material", "NAME", "what it holds"), OPTIONS_TIN, END};
static const struct option tin_list_options[] = {OPTION("--all", NULL, "empty ones too"), END};

#define WINDOW(stage, help) OPTION("--" stage, "WINDOW", help)
#define TEMP_FIELD(name, help, path) {name, "TEMP", help, .kind = FIELD_QUANTITY, .field = path, .quantity = QUANTITY_TEMPERATURE}
#define SHARE_FIELD(name, help, path) {name, "SHARE", help, .kind = FIELD_QUANTITY, .field = path, .quantity = QUANTITY_SHARE}
#define MINUTES_FIELD(name, help, path)                                                                                 \
    {name, "TIME", help, .kind = FIELD_QUANTITY, .field = path, .quantity = QUANTITY_DURATION, .divisor = 60.0}

/* A load, and its oven. */
#define OPTIONS_LOAD                                                                                                    \
    {"--step", "TEMP[,TIME[,RAMP]]", "150C,2h,40min: how hot, how long from when the part is there, how long to get there; in turn", .many = true}, \
    OPTION("--hot", NULL, "the oven is at its first step already"),                                                     \
    OPTION("--fan", NULL, "a fan moves the air in it"), OPTION("--still", NULL, "no fan does"),                          \
    OPTION("--metal", "METAL", "iron (unless told), steel, aluminium or brass"),                                         \
    OPTION("--mass", "M", "of the casting, with --area; the piece's own unless told"), OPTION("--area", "A", "its surface: 2000cm2"), \
    OPTION("--wall", "D", "thickness of the casting: 6mm; the piece's own unless told"),                                 \
    OPTION("--probe", "SENSOR", "one on the metal itself: its readings are the part"),                                   \
    {"--room", "TEMP", "of the room it cools in; as read unless told", .kind = FIELD_QUANTITY, .field = "room_c",        \
     .quantity = QUANTITY_TEMPERATURE},                                                                                  \
    {"--note", "TEXT", "anything else", .kind = FIELD_TEXT, .field = "note"}
static const struct option bake_check_options[] = {
    OPTIONS_LOAD,
    SHARE_FIELD("--retained", "of the solvent put on, what is still in the film; a cautious third unless told", "retained_pct"),
    {"--yes", "ABOUT,ABOUT", "questions answered yes", .many = true},
    {"--no", "ABOUT,ABOUT", "questions answered no", .many = true},
    {"--has", "THING,THING", "what heat ruins and is on the piece: solder,rubber", .many = true},
    {"--free-of", "THING,THING", "what is not on it", .many = true},
    END,
};
static const struct option bake_log_options[] = {
    {"--from", "WHEN", "when it went into the heat", .kind = FIELD_WHEN, .field = "started_at"},
    {"--to", "WHEN", "when that ended; now unless told", .kind = FIELD_WHEN, .field = "ended_at"},
    OPTIONS_LOAD,
    END,
};
static const struct option bake_stop_options[] = {OPTION_AT, {"--note", "TEXT", "why, or what was seen", .kind = FIELD_TEXT, .field = "note"}, END};
static const struct option bake_show_options[] = {OPTION("--all", NULL, "those that are over too"), END};

/* In the order in which labels print things. */
#define OPTIONS_MATERIAL                                                                                                \
    {"--class", "CLASS", "the built-in it is nearest to; fills what the label leaves out", .kind = FIELD_WORD,           \
     .field = "class", .words = class_words},                                                                            \
    {"--application", "HOW", "how it is put on", .kind = FIELD_WORD, .field = "application", .words = application_words}, \
    {"--role", "ROLE", "what it usually is there for", .kind = FIELD_WORD, .field = "role", .words = role_words},        \
    TEMP_FIELD("--min-temp", "coldest air and surface it may be used in", "limits.min_temp_c"),                          \
    TEMP_FIELD("--max-temp", "warmest", "limits.max_temp_c"), SHARE_FIELD("--max-rh", "dampest", "limits.max_rh_pct"),   \
    {"--film", "D", "dry film that the hours are for: 37um", .kind = FIELD_QUANTITY, .field = "film.dry_um",             \
     .quantity = QUANTITY_FILM},                                                                                         \
    SHARE_FIELD("--solids", "solids by volume, wet to dry film", "film.solids_pct"),                                     \
    {"--exponent", "N", "1 where evaporation limits, 2 where solvent diffuses out", .kind = FIELD_NUMBER,                \
     .field = "film.exponent"},                                                                                          \
    OPTION("--at", "TEMP", "the air that the label's hours are for; 21C unless told"),                                         \
    SHARE_FIELD("--rh", "likewise; 50% unless told", "ref_rh_pct"), WINDOW("touch", "set to touch: 30min"),              \
    WINDOW("dust-free", "20min"), WINDOW("tack-free", "4h"), WINDOW("handle", "dry to handle: 24h"),                     \
    WINDOW("tape", "takes masking tape"), WINDOW("unmask", "pull the tape: \"2h to 24h, then scuff\""), WINDOW("sand", "12h"),       \
    WINDOW("recoat", "\"within 1h or after 48h\""), WINDOW("leaf", "size: \"test 1h to 3h\""), WINDOW("seal", "cover the leaf"), \
    WINDOW("bake", "flashed off, may enter the oven"), WINDOW("cure", "cured through: 7d"),                              \
    {"--row", "STAGE:TEMP=TIME", "another row of its table: recoat:10C=8h; recoat.2: its second moment", .many = true},  \
    {"--bake-row", "TEMP=TIME", "oven: 150C=1h", .many = true},                                                          \
    OPTION("--too-hot", "TEMP", "oven: from here on it is ruined, by its label; none: not told"),                        \
    OPTION("--too-long", "TEMP=TIME", "oven: so long there is too long, by its label: 150C=3h; none: not told"),         \
    {"--thinner", "NAME", "what its label says to thin it with: mineral spirits", .kind = FIELD_TEXT, .field = "thinner"}, \
    MINUTES_FIELD("--induction", "two-part: wait after mixing", "induction_min"),                                        \
    MINUTES_FIELD("--pot-life", "two-part: at 21 C", "pot_life_min"),                                                    \
    {"--rule", "RULE", "how damp air acts", .kind = FIELD_WORD, .field = "rule", .words = rule_words},                   \
    {"--doubling", "DIFF", "hours double for each so much colder: 10C", .kind = FIELD_QUANTITY, .field = "doubling_c",   \
     .quantity = QUANTITY_TEMP_DIFF},                                                                                    \
    {"--guard", "STAGE", "the air must hold until then", .kind = FIELD_WORD, .field = "guard", .words = stage_words},    \
    {"--solvent", "NAME=SHARE", "what evaporates, by its safety data sheet: toluene=60%; together 100%; none: not told", \
     .many = true},                                                                                                      \
    SHARE_FIELD("--solvent-share", "how much of it that is by volume, propellant included: 55%", "composition.solvent_pct"), \
    {"--hazard", "HAZARD=yes|no", "as the label answers; unanswered counts as the class's worst", .many = true}
static const struct option material_add_options[] = {OPTIONS_MATERIAL, END};
static const struct option material_edit_options[] = {OPTION_NAME, OPTIONS_MATERIAL, END};
static const struct option material_list_options[] = {OPTION("--all", NULL, "removed ones too"), END};
#define OPTIONS_SOURCE                                                                                                  \
    OPTION("--sysfs", "DEVICE", "of the kernel: iio:NAME, hwmon:NAME or w1:28-0123456789ab"),                            \
    OPTION("--mqtt", "URL", "a topic of a broker: mqtt://host/topic, or mqtts://host/topic"),                             \
    OPTION("--command", NULL, "what a program prints; it and its arguments come last, after --")
#define OPTIONS_SENSOR                                                                                                  \
    {"--temp-pointer", "P", "where the temperature stands in its JSON: /t", .kind = FIELD_TEXT, .field = "pointers.temperature"}, \
    {"--rh-pointer", "P", "likewise the humidity: /h", .kind = FIELD_TEXT, .field = "pointers.humidity"},                \
    {"--temp-scale", "SCALE", "what its number means, C unless told", .kind = FIELD_WORD, .field = "scales.temperature", \
     .words = temp_scale_words},                                                                                         \
    {"--rh-scale", "SCALE", "likewise, % unless told", .kind = FIELD_WORD, .field = "scales.humidity", .words = rh_scale_words}, \
    OPTION("--measures", "WHAT", "temperature, humidity or temperature,humidity"),                                       \
    {"--every", "TIME", "how often it is asked, or tells by itself: 5min", .kind = FIELD_QUANTITY, .field = "interval_s", \
     .quantity = QUANTITY_DURATION},                                                                                     \
    {"--user", "U", "at the broker", .kind = FIELD_TEXT, .field = "user"},                                               \
    OPTION("--password-file", "F", "its first line is the password"),                                                    \
    OPTION("--ca-file", "F", "the authorities to trust with mqtts"),                                                     \
    OPTION("--position", "N", "1 counts first in its place")
static const struct option sensor_add_options[] = {
    OPTIONS_SOURCE,
    OPTION("--push", NULL, "it posts its readings itself, with a token that is told once"),
    OPTIONS_SENSOR,
    OPTION("--untested", NULL, "enter it without hearing it first"),
    END,
};
static const struct option sensor_test_options[] = {OPTIONS_SOURCE, OPTIONS_SENSOR, END};
static const struct option sensor_edit_options[] = {
    OPTION_NAME,
    OPTIONS_SOURCE,
    OPTIONS_SENSOR,
    OPTION("--new-token", NULL, "of one that posts: another token; the old one ends"),
    END,
};
static const struct option sensor_adjust_options[] = {
    OPTION("--temp", "TEMP", "the temperature that it should read"),
    OPTION("--humidity", "SHARE", "the humidity that it should read"),
    OPTION("--reads", "VALUE", "what it shows; what it last said unless told"),
    {"--since", "WHEN", "from then on; now unless told", .kind = FIELD_WHEN, .field = "from_at"},
    END,
};
#define OPTIONS_WAY                                                                                                     \
    OPTION("--mail", "ADDRESS", "a mail to it, through --server-url"),                                                   \
    OPTION("--server-url", "URL", "of the mail server: smtps://host, or smtp://host with TLS from within"),               \
    OPTION("--webhook", "URL", "an address that takes signed JSON"),                                                      \
    OPTION("--mqtt", "URL", "a topic of a broker: mqtt://host/topic, or mqtts://host/topic"),                             \
    OPTION("--command", NULL, "a program of the daemon's machine; it and its arguments come last, after --")
#define OPTIONS_CHANNEL                                                                                                 \
    {"--from", "ADDRESS", "whom the mail is from; --user where that is an address", .kind = FIELD_TEXT, .field = "from"}, \
    {"--user", "U", "at the mail server or broker", .kind = FIELD_TEXT, .field = "user"},                                \
    OPTION("--password-file", "F", "its first line is the password"),                                                    \
    OPTION("--ask-password", NULL, "ask for it here, unseen"),                                                           \
    OPTION("--key-file", "F", "of a webhook: its first line is the key to sign with; one is made unless told"),           \
    OPTION("--ca-file", "F", "the authorities to trust; the system's unless told"),                                      \
    {"--link", "URL", "how this daemon is reached from there: https://shop.example:8262", .kind = FIELD_TEXT, .field = "link"}
#define OPTION_CALENDAR OPTION("--calendar", NULL, "a calendar program fetches it through a secret link")
static const struct option channel_add_options[] = {
    OPTIONS_WAY,
    OPTION_CALENDAR,
    OPTIONS_CHANNEL,
    OPTION("--untested", NULL, "enter it without sending a test first"),
    END,
};
static const struct option channel_test_options[] = {OPTIONS_WAY, OPTIONS_CHANNEL, END};
static const struct option channel_edit_options[] = {
    OPTION_NAME,
    OPTIONS_WAY,
    OPTIONS_CHANNEL,
    OPTION("--new-key", NULL, "of a webhook or calendar: another one; the old one ends"),
    END,
};
static const struct option air_options[] = {
    OPTION("--at", "WHEN", "when it was read; now unless told"),
    OPTION("--since", "WHEN", "show what it did from then on; the last 48 h unless told"),
    OPTION("--days", "N", "likewise: the last N days"),
    OPTION("--hours", "TIME", "likewise: 12h"),
    OPTION("--heat-until", "WHEN", "its heater is on until then: 21:30, \"in 3h\""),
    OPTION("--heat-off", NULL, "it is off now"),
    END,
};
static const struct option air_import_options[] = {
    OPTION("--place", "PLACE", "whose air it was"),
    OPTION("--name", "NAME", "what it is listed as; the file's name unless told"),
    OPTION("--time", "COLUMN", "the column with the time, where the first line does not make it plain"),
    OPTION("--temp", "COLUMN", "likewise the temperature"),
    OPTION("--humidity", "COLUMN", "likewise the humidity"),
    OPTION("--units", "C|F", "of the temperature, where the first line does not tell"),
    OPTION("--zone", "local|UTC", "of times without one; the shop's unless told"),
    OPTION("--dry-run", NULL, "read and check it, and send nothing"),
    END,
};
static const struct option notices_options[] = {
    OPTION("--follow", NULL, "stay, and tell each one as it is told; also after coatd was started anew"),
    OPTION("--all", NULL, "acknowledged and withdrawn ones too"),
    END,
};

static const char window_detail[] =
    "A WINDOW is written as labels do: \"16h\", \"after 16h\", \"within 1h or after 48h\", \"5h to 8h, wipe to 24h, then "
    "scuff\". What the label does not print is filled from the built-in material of its class.";
static const char import_detail[] =
    "A CSV file: comma, semicolon or tab; the first line names the columns (\"time\", \"Temp (F)\", \"rh\"). Times are RFC 3339, "
    "\"2026-11-28 14:30\" or seconds since 1970. An empty value was not measured then. All of it is checked before anything is sent.";
static const char vapour_detail[] =
    "SOLVENT is one word: toluene, toluene=60%,acetone=40% (by volume), or a blend, \"lacquer thinner\", which counts as the worst that it may be. "
    "It stays in the record. No design: the label, the safety data sheet and local rules decide.";
static const char bake_detail[] =
    "With the number of a bake alone it goes on with its review: answers are kept with their time, the newest counts, and all are asked again after 12 hours. "
    "Without --step it is the coolest row of the material, for as long as it asks. No design of an oven: the label, the safety data sheet, local codes and "
    "licensed practice decide.";
static const char air_detail[] = "A file of past readings is taken in with coat air import FILE --place PLACE.";
static const char photo_detail[] =
    "JPEG or PNG, at most 4 MiB, 24 of a piece. Where, when and with what it was taken is left out before it is sent.";
static const char when_detail[] =
    "A time without a day is the latest one past. Times are the shop's; one that the change of the clocks left out or "
    "brought twice is asked back.";

static const char source_detail[] =
    "A device is named and not numbered, since numbers change: iio: by its label or name, hwmon: by its name (@PARENT where two are alike, /LABEL "
    "of a channel), w1: by its serial number. A program prints a number, or JSON with pointers into it: "
    "coat sensor add probe shed --temp-pointer /t --rh-pointer /h --command -- read-probe --once. It is heard before it is entered.";
/* Greenspan, L.: Humidity fixed points of binary saturated aqueous solutions, J. Res. NBS 81A (1977) 89-96, table 2 at 25 C: sodium chloride 75.29 %,
 * magnesium chloride 32.78 %. */
static const char adjust_detail[] =
    "Salt test: leave it for a day at an even 25 C in a closed box over salt that is wet but not dissolved; saturated table salt makes 75.3 %, "
    "magnesium chloride 32.8 % (Greenspan 1977, J. Res. NBS 81A). Then: coat sensor adjust NAME --humidity 75.3%";

static const char channel_detail[] =
    "What is told from then on goes there, each at least once, until it is delivered, acknowledged or over. A test is sent before it is entered. A program "
    "gets the notice as JSON on its standard input and in COAT_NOTICE_ID, _KIND, _SUBJECT, _TEXT and _SAFETY: coat channel add desk --command -- "
    "notify-send. No password is taken in the command line: what stands there is seen by others.";

#define NOT_ENTERED "Nothing was entered."
#define NOT_CHANGED "Nothing was changed."
#define NOT_LOGGED "Nothing was logged."
#define NOT_IMPORTED "Nothing was imported."

/* ---- the table ---- */

const struct command command_table[] = {
    {"log", "PIECE[,PIECE...] MATERIAL", "log a coat; a rack stands for its pieces", NOT_LOGGED, 2, 2, false, log_options,
     when_detail, cmd_log},
    {"show", "PIECE|COAT", "stages, windows, band, air and cautions", NULL, 1, 1, false, show_options, NULL, cmd_show},
    {"amend", "COAT", "correct an entry; the old one stays in the record", NOT_CHANGED, 1, 1, false, amend_options,
     when_detail, cmd_amend},
    {"strike", "COAT", "void an entry; it stays in the record", NOT_CHANGED, 1, 1, false, strike_options, NULL, cmd_strike},
    {"sand", "COAT", "it was sanded", NOT_LOGGED, 1, 1, false, at_options, NULL, cmd_sand},
    {"test", "COAT STAGE pass|fail", "a finger, paper or thumb on it, and what that said", NOT_LOGGED, 3, 3, false, at_options, NULL,
     cmd_test},
    {"strip", "PIECE", "it was stripped, to the iron or down to a coat", NOT_LOGGED, 1, 1, false, strip_options, NULL, cmd_strip},
    {"piece list", "", "the pieces, where they hang, their coats", NULL, 0, 0, true, NULL, NULL, cmd_piece_list},
    {"piece add", "NAME", "enter a piece", NOT_ENTERED, 1, 1, false, piece_add_options, NULL, cmd_piece_add},
    {"piece show", "PIECE", "what is known of it, and its coats", NULL, 1, 1, false, NULL, NULL, cmd_piece_show},
    {"piece edit", "PIECE", "change what is known of it", NOT_CHANGED, 1, 1, false, piece_edit_options, NULL, cmd_piece_edit},
    {"piece remove", "PIECE", "take it out of use; its record stays", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_piece_remove},
    {"piece note", "PIECE [TEXT]", "note what was seen or done, or list the notes", NOT_ENTERED, 1, 2, false, at_options, NULL, cmd_piece_note},
    {"piece photo", "PIECE [FILE]", "keep a photo of it, or list them", NOT_CHANGED, 1, 2, false, piece_photo_options, photo_detail, cmd_piece_photo},
    {"rack list", "", "pieces that are always done together", NULL, 0, 0, true, NULL, NULL, cmd_rack_list},
    {"rack add", "NAME PIECE[,PIECE...]", "make a rack", NOT_ENTERED, 2, 2, false, NULL, NULL, cmd_rack_add},
    {"rack edit", "RACK", "change its name or pieces", NOT_CHANGED, 1, 1, false, rack_edit_options, NULL, cmd_rack_edit},
    {"rack remove", "RACK", "take it out of use; its pieces stay", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_rack_remove},
    {"place list", "", "the places and their air", NULL, 0, 0, true, NULL, NULL, cmd_place_list},
    {"place add", "NAME", "enter a room, booth, cabinet, oven or shelf", NOT_ENTERED, 1, 1, false, place_add_options, NULL,
     cmd_place_add},
    {"place show", "PLACE", "its air and what makes it risky", NULL, 1, 1, false, NULL, NULL, cmd_place_show},
    {"place edit", "PLACE", "change what is known of it", NOT_CHANGED, 1, 1, false, place_edit_options, NULL, cmd_place_edit},
    {"place remove", "PLACE", "take it out of use; its record stays", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_place_remove},
    {"move", "PIECE PLACE", "it hangs there from now on", NOT_LOGGED, 2, 2, false, at_options, NULL, cmd_move},
    {"material list", "", "the materials", NULL, 0, 0, true, material_list_options, NULL, cmd_material_list},
    {"material show", "MATERIAL", "every figure, what it rests on, its source", NULL, 1, 1, false, NULL, NULL,
     cmd_material_show},
    {"material add", "NAME", "enter a material from its label", NOT_ENTERED, 1, 1, false, material_add_options, window_detail,
     cmd_material_add},
    {"material edit", "MATERIAL", "its next version", NOT_CHANGED, 1, 1, false, material_edit_options, window_detail,
     cmd_material_edit},
    {"material lead", "MATERIAL TIME|shop", "how long before a window of it closes that is told", NOT_CHANGED, 2, 2, false, NULL, NULL,
     cmd_material_lead},
    {"material remove", "MATERIAL", "take it out of use; coats of it keep it", NOT_CHANGED, 1, 1, false, NULL, NULL,
     cmd_material_remove},
    {"tin list", "", "the tins in use, what they hold, how long they keep", NULL, 0, 0, true, tin_list_options, NULL, cmd_tin_list},
    {"tin add", "NAME MATERIAL", "enter a tin", NOT_ENTERED, 2, 2, false, tin_add_options, NULL, cmd_tin_add},
    {"tin show", "TIN", "what is known of it", NULL, 1, 1, false, NULL, NULL, cmd_tin_show},
    {"tin edit", "TIN", "change what is known of it", NOT_CHANGED, 1, 1, false, tin_edit_options, NULL, cmd_tin_edit},
    {"tin remove", "TIN", "it is empty; coats of it keep it", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_tin_remove},
    {"sensor list", "[PLACE]", "the sensors, how they do and what would help", NULL, 0, 1, true, NULL, NULL, cmd_sensor_list},
    {"sensor add", "NAME PLACE", "enter a sensor once it was heard", NOT_ENTERED, 2, ARGS_MAX, false, sensor_add_options, source_detail,
     cmd_sensor_add},
    {"sensor test", "[NAME]", "what it says now; with the options of add before it is entered", NULL, 0, ARGS_MAX, false, sensor_test_options,
     source_detail, cmd_sensor_test},
    {"sensor show", "SENSOR", "what is known of it, its adjustments, what did not count", NULL, 1, 1, false, NULL, NULL, cmd_sensor_show},
    {"sensor edit", "SENSOR", "change what is known of it", NOT_CHANGED, 1, ARGS_MAX, false, sensor_edit_options, source_detail,
     cmd_sensor_edit},
    {"sensor adjust", "SENSOR", "what it should read, by a salt test or a better instrument", NOT_CHANGED, 1, 1, false,
     sensor_adjust_options, adjust_detail, cmd_sensor_adjust},
    {"sensor remove", "SENSOR", "take it out of use; its readings stay", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_sensor_remove},
    {"channel list", "", "where notices go beside the page, and how that does", NULL, 0, 0, true, NULL, NULL, cmd_channel_list},
    {"channel add", "NAME", "enter a channel once a test went over it", NOT_ENTERED, 1, ARGS_MAX, false, channel_add_options, channel_detail,
     cmd_channel_add},
    {"channel test", "[NAME]", "send a test and show the answer; with the options of add before it is entered", NULL, 0, ARGS_MAX, false,
     channel_test_options, channel_detail, cmd_channel_test},
    {"channel show", "CHANNEL", "what is known of it", NULL, 1, 1, false, NULL, NULL, cmd_channel_show},
    {"channel edit", "CHANNEL", "change what is known of it", NOT_CHANGED, 1, ARGS_MAX, false, channel_edit_options, channel_detail,
     cmd_channel_edit},
    {"channel remove", "CHANNEL", "take it out of use; its links acknowledge no more", NOT_CHANGED, 1, 1, false, NULL, NULL,
     cmd_channel_remove},
    {"mix", "MATERIAL", "mix a batch: its induction and pot life", NOT_LOGGED, 1, 1, false, mix_options, NULL, cmd_mix},
    {"air import", "FILE --place PLACE", "take in a file of past readings", NOT_IMPORTED, 1, 1, false, air_import_options,
     import_detail, cmd_air_import},
    {"air", "PLACE [TEMP RH]", "what the air did; with 18C 55%: enter a reading", NOT_ENTERED, 1, 3, false, air_options, air_detail,
     cmd_air},
    {"check", "MATERIAL PLACE", "may it go on now, and if not, when within 72 h", NULL, 2, 2, false, check_options, NULL, cmd_check},
    {"vapour", "PLACE [SOLVENT AMOUNT]", "what is in its air by the sums; with toluene 200ml: gun wash, wiping down", NOT_LOGGED, 1, 3,
     false, at_options, vapour_detail, cmd_vapour},
    {"bake check", "PIECE|COAT OVEN, or N", "the review before a bake: cautions, sums, and what is asked", NOT_LOGGED, 1, 2, false, bake_check_options,
     bake_detail, cmd_bake_check},
    {"bake start", "N", "begin it, where nothing speaks against it", "Nothing was begun.", 1, 1, false, at_options, NULL, cmd_bake_start},
    {"bake show", "[N]", "how far it is, when the heat may go, when it can be touched", NULL, 0, 1, true, bake_show_options, NULL, cmd_bake_show},
    {"bake resume", "N", "after an interruption: the oven goes on, its programme from the beginning", NOT_CHANGED, 1, 1, false, NULL, NULL, cmd_bake_resume},
    {"bake stop", "N", "the heat is off, or its review is given up", NOT_CHANGED, 1, 1, false, bake_stop_options, NULL, cmd_bake_stop},
    {"bake log", "PIECE|COAT OVEN", "one already done; it is marked as without review", NOT_LOGGED, 2, 2, false, bake_log_options, NULL, cmd_bake_log},
    {"shop show", "", "zone, units, working and quiet hours", NULL, 0, 0, true, NULL, NULL, cmd_shop_show},
    {"shop set", "KEY=VALUE ...", "zone=Europe/Vienna units=metric lead=60min quiet=22:00-07:00 work=17:00-22:00 morning=07:00",
     NOT_CHANGED, 1, ARGS_MAX, false, NULL, NULL, cmd_shop_set},
    {"caution", "[MATERIAL|coat|bake|strip|sand|shop]", "what to mind, and the source of it", NULL, 0, 1, false, NULL, NULL,
     cmd_caution},
    {"notices", "", "what was told and is not acknowledged", NULL, 0, 0, false, notices_options, NULL, cmd_notices},
    {"ack", "N ...", "acknowledge notices: each with all that it was told for", NULL, 1, ARGS_MAX, false, NULL, NULL, cmd_ack},
    {"calc", "...", "arithmetic without a daemon: coat calc --help", NULL, 0, ARGS_MAX, false, NULL, NULL, cmd_calc},
    END,
};

/* ---- finding ---- */

static bool begins_group(const struct command *command, const char *word)
{
    size_t length = strlen(word);
    return strncmp(command->name, word, length) == 0 && command->name[length] == ' ';
}

bool command_is_group(const char *word)
{
    for (const struct command *command = command_table; command->name != NULL; command++) {
        if (begins_group(command, word))
            return true;
    }
    return false;
}

static bool is_verb(const char *word)
{
    return word[0] != '-';
}

const struct command *command_find(int count, char *const argv[], int *ret_words)
{
    for (const struct command *command = command_table; command->name != NULL; command++) {
        bool group = begins_group(command, argv[0]);
        bool verb = count > 1 && is_verb(argv[1]);
        bool exact = strcmp(command->name, argv[0]) == 0;
        bool named = group && verb && strcmp(command->name + strlen(argv[0]) + 1, argv[1]) == 0;
        if (exact || named || (group && !verb && command->bare)) {
            *ret_words = named ? 2 : 1;
            return command;
        }
    }
    return NULL;
}

/* ---- help ---- */

static void add_command(struct table *table, const struct command *command)
{
    struct text text = {0};
    text_add(&text, "coat %s%s%s", command->name, command->arguments[0] != '\0' ? " " : "", command->arguments);
    table_row(table, VOICE_PLAIN, (const char *[]){text.data, command->help});
}

static void add_option(struct table *table, const struct option *option)
{
    struct text left = {0}, right = {0};
    text_add(&left, "%s%s%s", option->name, option->value != NULL ? " " : "", option->value != NULL ? option->value : "");
    text_add(&right, "%s", option->help);
    if (option->words != NULL && option->words != units_words) {
        text_add(&right, ": ");
        words_list(&right, option->words);
    }
    table_row(table, VOICE_PLAIN, (const char *[]){left.data, right.data});
}

static void print_options(FILE *out, const struct option *options)
{
    struct render render = {out, HELP_WIDTH, false};
    struct table *table = table_new(2, HELP_INDENT, 0);
    for (; options != NULL && options->name != NULL; options++)
        add_option(table, options);
    table_print(&render, table);
}

void command_print_all(FILE *out)
{
    struct render render = {out, HELP_WIDTH, false};
    struct table *table = table_new(2, HELP_INDENT, 0);
    render_text(&render, 0, 0, "usage: coat [OPTION...] [COMMAND ...]");
    render_blank(&render);
    table_row(table, VOICE_PLAIN, (const char *[]){"coat", "what can be done now, what comes next, what must not be touched"});
    for (const struct command *command = command_table; command->name != NULL; command++)
        add_command(table, command);
    table_print(&render, table);
    render_blank(&render);
    render_text(&render, 0, 0, "Options, before or after the command:");
    print_options(out, options_global);
    render_blank(&render);
    render_text(&render, 0, 0,
                "Amounts carry units (18C 55% 40um 1.5mil 20min). Names may be cut short; a coat is its number. `coat COMMAND "
                "--help` tells its options. Exit status: 0 done, 1 refused, 2 wrong usage, 3 no daemon, 4 not allowed.");
}

void command_print_group(FILE *out, const char *word)
{
    struct render render = {out, HELP_WIDTH, false};
    struct table *table = table_new(2, HELP_INDENT, 0);
    for (const struct command *command = command_table; command->name != NULL; command++) {
        if (begins_group(command, word) || strcmp(command->name, word) == 0)
            add_command(table, command);
    }
    table_print(&render, table);
}

void command_print_group_help(FILE *out, const char *word, const struct command *bare)
{
    struct render render = {out, HELP_WIDTH, false};
    struct text usage = {0}, alone = {0};
    text_add(&usage, "usage: coat %s ...", word);
    render_text(&render, 0, 0, usage.data);
    command_print_group(out, word);
    render_blank(&render);
    if (bare != NULL && strcmp(bare->name, word) != 0)
        text_add(&alone, "coat %s alone is coat %s. ", word, bare->name);
    text_add(&alone, "--help behind one of these tells its options.");
    render_text(&render, 0, 0, alone.data);
    if (bare != NULL && bare->options != NULL) {
        text_clear(&alone);
        text_add(&alone, "Options of coat %s alone:", word);
        render_blank(&render);
        render_text(&render, 0, 0, alone.data);
        print_options(out, bare->options);
    }
    if (bare != NULL && bare->detail != NULL) {
        render_blank(&render);
        render_text(&render, 0, 0, bare->detail);
    }
}

void command_print_help(FILE *out, const struct command *command)
{
    struct render render = {out, HELP_WIDTH, false};
    struct text text = {0};
    text_add(&text, "usage: coat %s %s%s", command->name, command->arguments, command->options != NULL ? " [OPTION...]" : "");
    render_text(&render, 0, 4, text.data);
    text_clear(&text);
    text_add(&text, "%s.", command->help);
    render_text(&render, 2, 2, text.data);
    if (command->options != NULL) {
        render_blank(&render);
        print_options(out, command->options);
    }
    if (command->detail != NULL) {
        render_blank(&render);
        render_text(&render, 0, 0, command->detail);
    }
}
