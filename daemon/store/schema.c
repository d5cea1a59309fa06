/* The tables, as a numbered list of migrations. A migration that was released is never changed: what comes later is appended.
 *
 * In all of them: moments are milliseconds since the epoch, UTC, NULL for "never" or "not known"; numbers that nobody gave are NULL;
 * enums are the words of coat/words.h; name_key is a name with its case folded, for telling names apart. Only facts are kept: whatever can
 * be computed from them is not here. */
#include "daemon/store/internal.h"

#include <string.h>

#ifndef COAT_VERSION
#define COAT_VERSION "unknown"
#endif

/* Rows of these tables are written once: the triggers say so whoever asks. */
#define NEVER_CHANGED(table)                                                                               \
    "CREATE TRIGGER " table "_keeps_rows BEFORE UPDATE ON " table                                          \
    " BEGIN SELECT RAISE(ABORT, 'rows of " table " are never changed'); END;\n"                            \
    "CREATE TRIGGER " table "_keeps_all BEFORE DELETE ON " table                                           \
    " BEGIN SELECT RAISE(ABORT, 'rows of " table " are never removed'); END;\n"

static const char migration_1_shop[] =
    "CREATE TABLE migration (\n"
    "  number INTEGER PRIMARY KEY,           -- of the migration, as in user_version\n"
    "  applied_at INTEGER NOT NULL,          -- moment\n"
    "  program TEXT NOT NULL                 -- version of the program that applied it\n"
    ") STRICT;\n"
    NEVER_CHANGED("migration")

    "CREATE TABLE revision (\n"
    "  id INTEGER PRIMARY KEY CHECK (id = 1),-- one row\n"
    "  revision INTEGER NOT NULL             -- rises with every change of a fact or a state\n"
    ") STRICT;\n"
    "INSERT INTO revision VALUES (1, 0);\n"

    "CREATE TABLE shop_settings (\n"
    "  id INTEGER PRIMARY KEY CHECK (id = 1),-- one row\n"
    "  zone TEXT NOT NULL,                   -- IANA name of the shop's time zone\n"
    "  units TEXT NOT NULL CHECK (units IN ('metric', 'us')), -- what people are shown\n"
    "  lead_closing_min INTEGER NOT NULL,    -- minutes before a window's end from which it counts as closing\n"
    "  quiet_from_min INTEGER NOT NULL,      -- minutes after local midnight; quiet hours\n"
    "  quiet_to_min INTEGER NOT NULL,        -- their end; equal: no quiet hours\n"
    "  work_from_min INTEGER NOT NULL,       -- minutes after local midnight; working hours\n"
    "  work_to_min INTEGER NOT NULL          -- their end; equal: none told\n"
    ") STRICT;\n"
    "INSERT INTO shop_settings VALUES (1, 'UTC', 'metric', 60, 0, 0, 0, 0);\n"

    "CREATE TABLE place (\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- at most 63 bytes\n"
    "  name_key TEXT NOT NULL,               -- name, case folded\n"
    "  kind TEXT NOT NULL,                   -- room, booth, cabinet, oven, shelf\n"
    "  volume_m3 REAL,                       -- m3\n"
    "  airflow_m3h REAL,                     -- m3/h of its exhaust\n"
    "  added_at INTEGER NOT NULL,            -- moment\n"
    "  removed_at INTEGER                    -- moment it went out of use\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX place_named ON place (name_key) WHERE removed_at IS NULL;\n"
    "CREATE TABLE place_risk (               -- what makes a place risky; a risk nobody answered has no row\n"
    "  place_id INTEGER NOT NULL REFERENCES place,\n"
    "  risk TEXT NOT NULL,                   -- below-ground, attached, lived-in, ...\n"
    "  answer TEXT NOT NULL CHECK (answer IN ('yes', 'no')),\n"
    "  PRIMARY KEY (place_id, risk)\n"
    ") STRICT, WITHOUT ROWID;\n"

    "CREATE TABLE piece (\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- at most 63 bytes\n"
    "  name_key TEXT NOT NULL,               -- name, case folded\n"
    "  old_finish TEXT NOT NULL,             -- not tested, lead, tested clear\n"
    "  mass_kg REAL,                         -- kg\n"
    "  wall_mm REAL,                         -- mm, usual wall of the casting\n"
    "  note TEXT NOT NULL,                   -- free text\n"
    "  added_at INTEGER NOT NULL,            -- moment\n"
    "  removed_at INTEGER                    -- moment it went out of use\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX piece_named ON piece (name_key) WHERE removed_at IS NULL;\n"
    "CREATE TABLE piece_area (               -- parts of a piece that take coats of their own\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  position INTEGER NOT NULL,            -- 0, 1, ... the order in which they are told\n"
    "  name TEXT NOT NULL,                   -- front, back, rim\n"
    "  PRIMARY KEY (piece_id, position)\n"
    ") STRICT, WITHOUT ROWID;\n"

    "CREATE TABLE rack (                     -- pieces that are always done together\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- at most 63 bytes\n"
    "  name_key TEXT NOT NULL,               -- name, case folded\n"
    "  added_at INTEGER NOT NULL,            -- moment\n"
    "  removed_at INTEGER                    -- moment it went out of use\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX rack_named ON rack (name_key) WHERE removed_at IS NULL;\n"
    "CREATE TABLE rack_piece (\n"
    "  rack_id INTEGER NOT NULL REFERENCES rack,\n"
    "  position INTEGER NOT NULL,            -- 0, 1, ... as hung\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  PRIMARY KEY (rack_id, position)\n"
    ") STRICT, WITHOUT ROWID;\n"

    "CREATE TABLE move (                     -- where a piece hangs, and from when\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  place_id INTEGER NOT NULL REFERENCES place,\n"
    "  at INTEGER NOT NULL,                  -- moment from which it hangs there\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    "CREATE INDEX move_of_piece ON move (piece_id, at, id);\n";

static const char migration_1_materials[] =
    "CREATE TABLE material (                 -- a finish; its figures stand in its versions\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  name_key TEXT NOT NULL,               -- name of its newest version, case folded\n"
    "  builtin_class TEXT UNIQUE,            -- of a built-in one: its class; else NULL\n"
    "  seeded_version INTEGER,               -- of a built-in one: the newest version that came with the program\n"
    "  removed_at INTEGER                    -- moment it went out of the lists\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX material_named ON material (name_key) WHERE removed_at IS NULL;\n"
    "CREATE TABLE material_version (         -- written once; a coat keeps the version that it was logged under\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT,\n"
    "  material_id INTEGER NOT NULL REFERENCES material,\n"
    "  version INTEGER NOT NULL,             -- 1, 2, ... of its material\n"
    "  entered_at INTEGER NOT NULL,          -- moment\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- at most 63 bytes\n"
    "  material_class TEXT NOT NULL,         -- alkyd-enamel, shellac, ...\n"
    "  builtin INTEGER NOT NULL,             -- 1: came with the program\n"
    "  application TEXT NOT NULL,            -- brush, spray, aerosol, dip, transfer\n"
    "  usual_role TEXT NOT NULL,             -- primer, enamel, ...\n"
    "  rule TEXT NOT NULL,                   -- how damp air acts on it\n"
    "  ref_rh_pct REAL,                      -- % relative humidity that the hours are for\n"
    "  doubling_c REAL,                      -- hours double for each so many degrees colder\n"
    "  doubling_basis TEXT NOT NULL,         -- where that figure comes from\n"
    "  min_temp_c REAL,                      -- C; colder, it does not cure\n"
    "  max_temp_c REAL,                      -- C; warmer, it is not put on\n"
    "  max_rh_pct REAL,                      -- %; damper, it does not cure\n"
    "  film_um REAL,                         -- um of dry film that the hours are for\n"
    "  film_exponent REAL,                   -- hours grow with film to this power\n"
    "  solids_pct REAL,                      -- % by volume; wet to dry film\n"
    "  guard TEXT NOT NULL,                  -- stage until which the air must keep within limits\n"
    "  limits_source TEXT NOT NULL,          -- document and section of the limits\n"
    "  bake_source TEXT NOT NULL,            -- document and section of the bake rows\n"
    "  induction_min REAL,                   -- minutes of waiting after mixing two parts\n"
    "  pot_life_min REAL,                    -- minutes at 21 C\n"
    "  UNIQUE (material_id, version)\n"
    ") STRICT;\n"
    NEVER_CHANGED("material_version")
    "CREATE TABLE material_hazard (          -- a hazard nobody answered has no row\n"
    "  version_id INTEGER NOT NULL REFERENCES material_version,\n"
    "  hazard TEXT NOT NULL,                 -- solvent, isocyanate, ...\n"
    "  answer TEXT NOT NULL CHECK (answer IN ('yes', 'no')),\n"
    "  PRIMARY KEY (version_id, hazard)\n"
    ") STRICT, WITHOUT ROWID;\n"
    NEVER_CHANGED("material_hazard")
    "CREATE TABLE material_stage (           -- a stage that the material has\n"
    "  version_id INTEGER NOT NULL REFERENCES material_version,\n"
    "  stage TEXT NOT NULL,                  -- touch, recoat, ...\n"
    "  first TEXT NOT NULL,                  -- what may be done from the moment it is put on\n"
    "  PRIMARY KEY (version_id, stage)\n"
    ") STRICT, WITHOUT ROWID;\n"
    NEVER_CHANGED("material_stage")
    "CREATE TABLE material_boundary (        -- where one span of a stage ends and the next begins\n"
    "  version_id INTEGER NOT NULL,\n"
    "  stage TEXT NOT NULL,\n"
    "  number INTEGER NOT NULL,              -- 0, 1, ... in order of time\n"
    "  \"then\" TEXT NOT NULL,                 -- what may be done from here on\n"
    "  label_h REAL,                         -- hours from putting it on, as the label prints\n"
    "  basis TEXT NOT NULL,                  -- where the rows come from\n"
    "  disputed INTEGER NOT NULL,            -- 1: sources disagree, read the can\n"
    "  source TEXT NOT NULL,                 -- document and section\n"
    "  PRIMARY KEY (version_id, stage, number),\n"
    "  FOREIGN KEY (version_id, stage) REFERENCES material_stage\n"
    ") STRICT, WITHOUT ROWID;\n"
    NEVER_CHANGED("material_boundary")
    "CREATE TABLE material_row (             -- drying table of a boundary\n"
    "  version_id INTEGER NOT NULL,\n"
    "  stage TEXT NOT NULL,\n"
    "  boundary INTEGER NOT NULL,            -- number of the boundary\n"
    "  number INTEGER NOT NULL,              -- 0, 1, ... from cold to warm\n"
    "  temp_c REAL NOT NULL,                 -- C\n"
    "  hours REAL NOT NULL,                  -- h at that temperature, reference humidity and film\n"
    "  PRIMARY KEY (version_id, stage, boundary, number),\n"
    "  FOREIGN KEY (version_id, stage, boundary) REFERENCES material_boundary\n"
    ") STRICT, WITHOUT ROWID;\n"
    NEVER_CHANGED("material_row")
    "CREATE TABLE material_bake_row (        -- oven table; never stretched from the room rows\n"
    "  version_id INTEGER NOT NULL REFERENCES material_version,\n"
    "  number INTEGER NOT NULL,              -- 0, 1, ... from cold to hot\n"
    "  temp_c REAL NOT NULL,                 -- C of the part\n"
    "  hours REAL NOT NULL,                  -- h at that temperature\n"
    "  PRIMARY KEY (version_id, number)\n"
    ") STRICT, WITHOUT ROWID;\n"
    NEVER_CHANGED("material_bake_row");

static const char migration_1_coats[] =
    "CREATE TABLE coat (                     -- a coat is its number\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT\n"
    ") STRICT;\n"
    "CREATE TABLE coat_entry (               -- what was told about it; the newest entry counts, the old ones stay\n"
    "  coat_id INTEGER NOT NULL REFERENCES coat,\n"
    "  entry INTEGER NOT NULL,               -- 1, 2, ...\n"
    "  entered_at INTEGER NOT NULL,          -- moment\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  area TEXT NOT NULL,                   -- empty: the whole piece\n"
    "  material_version_id INTEGER NOT NULL REFERENCES material_version,\n"
    "  role TEXT NOT NULL,                   -- primer, enamel, size, ...\n"
    "  application TEXT NOT NULL,            -- brush, spray, ...\n"
    "  first_at INTEGER NOT NULL,            -- moment of the first pass; closings count from it\n"
    "  last_at INTEGER NOT NULL,             -- moment of the last pass; openings count from it\n"
    "  passes INTEGER NOT NULL,              -- light passes\n"
    "  film TEXT NOT NULL,                   -- light, normal, heavy, as told\n"
    "  wet_um REAL,                          -- um, measured wet\n"
    "  dry_um REAL,                          -- um, measured dry\n"
    "  amount_ml REAL,                       -- ml used\n"
    "  thinned_pct REAL,                     -- % of thinner by volume\n"
    "  thinner TEXT NOT NULL,                -- with what\n"
    "  note TEXT NOT NULL,                   -- free text\n"
    "  struck_at INTEGER,                    -- moment it was voided\n"
    "  struck_why TEXT NOT NULL,             -- why\n"
    "  PRIMARY KEY (coat_id, entry),\n"
    "  CHECK (first_at <= last_at)\n"
    ") STRICT;\n"
    NEVER_CHANGED("coat_entry")

    "CREATE TABLE sanding (\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  coat_id INTEGER NOT NULL REFERENCES coat,\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    "CREATE TABLE stripping (\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  area TEXT NOT NULL,                   -- empty: all of it\n"
    "  down_to_coat_id INTEGER REFERENCES coat, -- this coat and those under it stay; NULL: to the iron\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"

    "CREATE TABLE notice (                   -- a fact before it is sent anywhere\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  kind TEXT NOT NULL,                   -- window-opens, stalled, ...\n"
    "  coat_id INTEGER REFERENCES coat,      -- NULL: of no coat\n"
    "  stage TEXT NOT NULL,\n"
    "  boundary INTEGER NOT NULL,            -- number of the boundary of the stage\n"
    "  turn INTEGER NOT NULL,                -- grows when it became true again after a correction\n"
    "  due_at INTEGER,                       -- moment it is about\n"
    "  until_at INTEGER,                     -- end of what it announces\n"
    "  assumed INTEGER NOT NULL,             -- 1: rests on assumed air\n"
    "  raised_at INTEGER NOT NULL,           -- moment\n"
    "  withdrawn_at INTEGER,                 -- moment a later fact took it back\n"
    "  acknowledged_at INTEGER,              -- moment\n"
    "  text TEXT NOT NULL                    -- as told\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX notice_once ON notice (ifnull(coat_id, 0), stage, boundary, kind, turn);\n"

    "CREATE TABLE answer (                   -- what a request with an idempotency key was answered\n"
    "  key TEXT PRIMARY KEY,                 -- as sent\n"
    "  body_hash INTEGER NOT NULL,           -- 64 bits of the body, as a signed number\n"
    "  body_length INTEGER NOT NULL,         -- bytes\n"
    "  route TEXT NOT NULL,                  -- method and path\n"
    "  status INTEGER NOT NULL,              -- HTTP\n"
    "  at INTEGER NOT NULL                   -- moment; dropped seven days after it\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE INDEX answer_age ON answer (at);\n"
    "CREATE TABLE answer_id (                -- what the write made\n"
    "  key TEXT NOT NULL REFERENCES answer ON DELETE CASCADE,\n"
    "  position INTEGER NOT NULL,            -- 0, 1, ...\n"
    "  id INTEGER NOT NULL,                  -- of a coat, a piece, ... as the route says\n"
    "  PRIMARY KEY (key, position)\n"
    ") STRICT, WITHOUT ROWID;\n";

static const char migration_1_readings[] =
    "CREATE TABLE sensor (                   -- a source of air; entering by hand is one like any other\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  place_id INTEGER NOT NULL REFERENCES place,\n"
    "  by_hand INTEGER NOT NULL CHECK (by_hand IN (0, 1)), -- 1: a person types it\n"
    "  hold_s INTEGER NOT NULL               -- s for which a reading counts as measured\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX sensor_by_hand ON sensor (place_id) WHERE by_hand = 1;\n"
    "CREATE INDEX sensor_of_place ON sensor (place_id);\n"
    "CREATE TABLE reading (                  -- the newest UTC day of each sensor\n"
    "  sensor_id INTEGER NOT NULL REFERENCES sensor,\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  temp_mc INTEGER NOT NULL,             -- thousandths of a degree C\n"
    "  rh_mp INTEGER NOT NULL,               -- thousandths of a % relative humidity\n"
    "  PRIMARY KEY (sensor_id, at)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE reading_day (              -- all earlier days, packed\n"
    "  sensor_id INTEGER NOT NULL REFERENCES sensor,\n"
    "  day INTEGER NOT NULL,                 -- UTC days since the epoch\n"
    "  count INTEGER NOT NULL,               -- readings in it\n"
    "  packed BLOB NOT NULL,                 -- 8 bytes a reading by time, little-endian: from the top 27 bits of milliseconds in\n"
    "                                        -- the day, 17 of thousandths of a %, 20 of thousandths of a degree C plus 524288\n"
    "  PRIMARY KEY (sensor_id, day),\n"
    "  CHECK (length(packed) = count * 8)\n"
    ") STRICT;\n";

/* One string of all would pass the length that C17 promises; they are run in this order. */
static const char *const migration_1[] = {migration_1_shop, migration_1_materials, migration_1_coats,
                                          migration_1_readings, NULL};

static const char migration_2_tests[] =
    "CREATE TABLE bench_test (               -- a finger, paper or thumb on a coat, and what it said of a stage\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  coat_id INTEGER NOT NULL REFERENCES coat,\n"
    "  stage TEXT NOT NULL,                  -- touch, tack-free, ...\n"
    "  passed INTEGER NOT NULL CHECK (passed IN (0, 1)), -- 1: it had reached the stage\n"
    "  at INTEGER NOT NULL,                  -- moment of the test\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("bench_test");

static const char migration_2_tins[] =
    "CREATE TABLE tin (                      -- one container of a material\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  material_id INTEGER NOT NULL REFERENCES material, -- of any version\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- what is written on it in the shop, at most 63 bytes\n"
    "  name_key TEXT NOT NULL,               -- name, case folded\n"
    "  batch TEXT NOT NULL,                  -- the maker's batch as printed; empty: none told\n"
    "  opened_at INTEGER,                    -- moment; NULL while shut or not known\n"
    "  keep_by_at INTEGER,                   -- moment up to which it keeps; NULL: none printed\n"
    "  added_at INTEGER NOT NULL,            -- moment\n"
    "  removed_at INTEGER                    -- moment it went out of use\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX tin_named ON tin (name_key) WHERE removed_at IS NULL;\n"

    "-- tin_id: of which tin it was put on; NULL where not told, as in all entries before this migration\n"
    "ALTER TABLE coat_entry ADD COLUMN tin_id INTEGER REFERENCES tin;\n";

static const char migration_2_mixes[] =
    "CREATE TABLE mix (                      -- a batch of a two-part material\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  material_version_id INTEGER NOT NULL REFERENCES material_version, -- its induction and pot life count\n"
    "  place_id INTEGER REFERENCES place,    -- where it stands; NULL: not told\n"
    "  mixed_at INTEGER NOT NULL,            -- moment\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("mix")

    "-- mix_id: what a notice is about where coat_id is NULL\n"
    "ALTER TABLE notice ADD COLUMN mix_id INTEGER REFERENCES mix;\n"
    "DROP INDEX notice_once;\n"
    "CREATE UNIQUE INDEX notice_once ON notice (ifnull(coat_id, 0), ifnull(mix_id, 0), stage, boundary, kind, turn);\n";

static const char *const migration_2[] = {migration_2_tests, migration_2_tins, migration_2_mixes, NULL};

static const char *const migration_3[] = {
    "-- closes_by_hottest: 1 where recoat closes by the hottest air since the coat\n"
    "ALTER TABLE material_version ADD COLUMN closes_by_hottest INTEGER NOT NULL DEFAULT 0 CHECK (closes_by_hottest IN (0, 1));\n",
    NULL,
};

static const char migration_4_sensors[] =
    "-- name: as people call it; unique among those in use, but for those by hand\n"
    "ALTER TABLE sensor ADD COLUMN name TEXT NOT NULL DEFAULT 'by hand';\n"
    "ALTER TABLE sensor ADD COLUMN name_key TEXT NOT NULL DEFAULT 'by hand'; -- its case folded\n"
    "ALTER TABLE sensor ADD COLUMN kind TEXT NOT NULL DEFAULT 'by-hand';     -- sysfs, mqtt, push, ...\n"
    "ALTER TABLE sensor ADD COLUMN position INTEGER NOT NULL DEFAULT 0;      -- 0, 1, ... the order in which those of a place count\n"
    "ALTER TABLE sensor ADD COLUMN interval_s INTEGER NOT NULL DEFAULT 0;    -- s between readings, as told; 0: not told\n"
    "ALTER TABLE sensor ADD COLUMN measures_temp INTEGER NOT NULL DEFAULT 1;\n"
    "ALTER TABLE sensor ADD COLUMN measures_rh INTEGER NOT NULL DEFAULT 1;\n"
    "ALTER TABLE sensor ADD COLUMN source TEXT NOT NULL DEFAULT '';          -- a device, a topic, a command\n"
    "ALTER TABLE sensor ADD COLUMN temp_pointer TEXT NOT NULL DEFAULT '';    -- JSON pointer into what it says; empty: all of it\n"
    "ALTER TABLE sensor ADD COLUMN rh_pointer TEXT NOT NULL DEFAULT '';\n"
    "ALTER TABLE sensor ADD COLUMN temp_scale TEXT NOT NULL DEFAULT 'C';     -- C, F, K, mC\n"
    "ALTER TABLE sensor ADD COLUMN rh_scale TEXT NOT NULL DEFAULT '%';       -- %, fraction, m%\n"
    "ALTER TABLE sensor ADD COLUMN user TEXT NOT NULL DEFAULT '';            -- of a broker\n"
    "ALTER TABLE sensor ADD COLUMN secret TEXT NOT NULL DEFAULT '';          -- password of a broker, or SHA-256 of a token\n"
    "ALTER TABLE sensor ADD COLUMN ca_file TEXT NOT NULL DEFAULT '';         -- authorities that a broker's certificate is held to\n"
    "ALTER TABLE sensor ADD COLUMN added_at INTEGER;                         -- moment\n"
    "ALTER TABLE sensor ADD COLUMN removed_at INTEGER;                       -- moment it went out of use\n"
    "ALTER TABLE sensor ADD COLUMN finished INTEGER NOT NULL DEFAULT 1;      -- 0: an import under way, seen by nobody\n"
    "DROP INDEX sensor_by_hand;\n"
    "ALTER TABLE sensor DROP COLUMN by_hand;\n"
    "CREATE UNIQUE INDEX sensor_by_hand ON sensor (place_id) WHERE kind = 'by-hand';\n"
    "CREATE UNIQUE INDEX sensor_named ON sensor (name_key) WHERE removed_at IS NULL AND kind <> 'by-hand';\n";

static const char migration_4_readings[] =
    "CREATE TABLE reading_of_day (           -- the newest UTC day of each sensor\n"
    "  sensor_id INTEGER NOT NULL REFERENCES sensor,\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  temp_mc INTEGER,                      -- thousandths of a degree C; NULL: not measured then\n"
    "  rh_mp INTEGER,                        -- thousandths of a % relative humidity; likewise\n"
    "  PRIMARY KEY (sensor_id, at),\n"
    "  CHECK (temp_mc IS NOT NULL OR rh_mp IS NOT NULL)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "INSERT INTO reading_of_day SELECT sensor_id, at, temp_mc, rh_mp FROM reading;\n"
    "DROP TABLE reading;\n"
    "ALTER TABLE reading_of_day RENAME TO reading;\n"
    "-- reading_day.packed: 17 ones in place of a humidity, or 20 zeros in place of a temperature, say that it was not measured\n"

    "CREATE TABLE suspect (                  -- readings that do not count, and why\n"
    "  sensor_id INTEGER NOT NULL REFERENCES sensor,\n"
    "  at INTEGER NOT NULL,                  -- moment, as the sensor told it\n"
    "  received_at INTEGER NOT NULL,         -- moment\n"
    "  temp_mc INTEGER,                      -- as it was sent; NULL: none was\n"
    "  rh_mp INTEGER,                        -- likewise\n"
    "  judgement TEXT NOT NULL,              -- implausible, spike, stuck, ...\n"
    "  PRIMARY KEY (sensor_id, at)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE adjustment (               -- what a sensor should have read, by a salt test or a better instrument\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  sensor_id INTEGER NOT NULL REFERENCES sensor,\n"
    "  quantity TEXT NOT NULL,               -- temperature, humidity\n"
    "  reads REAL,                           -- C or %, what it read\n"
    "  should REAL NOT NULL,                 -- what it should have read\n"
    "  offset REAL NOT NULL,                 -- added to what it reads\n"
    "  from_at INTEGER NOT NULL,             -- moment from which that holds\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("adjustment")
    "CREATE TABLE heating (                  -- the heater of a place is on because somebody is there\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  place_id INTEGER NOT NULL REFERENCES place,\n"
    "  from_at INTEGER NOT NULL,             -- moment\n"
    "  until_at INTEGER NOT NULL,            -- moment; the same: switched off then\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("heating");

static const char migration_4_notices[] =
    "-- what a notice is about where it is of no coat and no mix\n"
    "ALTER TABLE notice ADD COLUMN place_id INTEGER REFERENCES place;\n"
    "ALTER TABLE notice ADD COLUMN sensor_id INTEGER REFERENCES sensor;\n"
    "DROP INDEX notice_once;\n"
    "CREATE UNIQUE INDEX notice_once ON notice (ifnull(coat_id, 0), ifnull(mix_id, 0), ifnull(place_id, 0), ifnull(sensor_id, 0),"
    " stage, boundary, kind, turn);\n";

static const char migration_5_channels[] =
    "CREATE TABLE channel (                  -- where notices go\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used again\n"
    "  name TEXT NOT NULL CHECK (name <> ''),-- at most 63 bytes\n"
    "  name_key TEXT NOT NULL,               -- name, case folded\n"
    "  kind TEXT NOT NULL,                   -- command, webhook, mail, mqtt, calendar\n"
    "  target TEXT NOT NULL,                 -- an address, or a JSON array of a program and its arguments\n"
    "  user TEXT NOT NULL,                   -- of a mail server or broker\n"
    "  secret TEXT NOT NULL,                 -- password, key to sign with, or SHA-256 of the key in a link\n"
    "  \"from\" TEXT NOT NULL,               -- of a mail\n"
    "  \"to\" TEXT NOT NULL,                 -- of a mail\n"
    "  link TEXT NOT NULL,                   -- how the service is reached from there; empty: as it knows itself\n"
    "  ca_file TEXT NOT NULL,                -- authorities that certificates are held to; empty: the system's\n"
    "  added_at INTEGER NOT NULL,            -- moment; what was told before is not sent there\n"
    "  removed_at INTEGER                    -- moment it went out of use\n"
    ") STRICT;\n"
    "CREATE UNIQUE INDEX channel_named ON channel (name_key) WHERE removed_at IS NULL;\n"
    "CREATE TABLE delivery_try (             -- a try to send a notice over a channel, and what came of it\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  notice_id INTEGER NOT NULL REFERENCES notice, -- the one that stands for its group\n"
    "  channel_id INTEGER NOT NULL REFERENCES channel,\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  delivered INTEGER NOT NULL CHECK (delivered IN (0, 1)),\n"
    "  answer TEXT NOT NULL                  -- what the other side said, or why there is no answer\n"
    ") STRICT;\n"
    NEVER_CHANGED("delivery_try")
    "CREATE INDEX try_of_notice ON delivery_try (notice_id, id);\n"
    "CREATE TABLE link_key (                 -- what links that acknowledge are signed with\n"
    "  id INTEGER PRIMARY KEY CHECK (id = 1),-- one row\n"
    "  key BLOB NOT NULL CHECK (length(key) = 32)\n"
    ") STRICT;\n"
    NEVER_CHANGED("link_key");

static const char migration_5_notices[] =
    "-- group_id: of the notice that stands for its group; NULL: itself. told_at: moment at which that was put out to the channels\n"
    "ALTER TABLE notice ADD COLUMN group_id INTEGER REFERENCES notice;\n"
    "ALTER TABLE notice ADD COLUMN told_at INTEGER;\n"
    "UPDATE notice SET told_at = raised_at;\n"
    "-- morning_min: minutes after local midnight at which the list of the day is told; -1: never\n"
    "ALTER TABLE shop_settings ADD COLUMN morning_min INTEGER NOT NULL DEFAULT -1;\n"
    "CREATE TABLE material_lead (            -- a shop's own lead for a material\n"
    "  material_id INTEGER PRIMARY KEY REFERENCES material,\n"
    "  lead_closing_min INTEGER NOT NULL     -- minutes before a window's end from which it counts as closing\n"
    ") STRICT;\n";

static const char *const migration_6[] = {
    "CREATE TABLE vapour_release (           -- open solvent that was used beside coats: gun wash, wiping down\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  place_id INTEGER NOT NULL REFERENCES place,\n"
    "  what TEXT NOT NULL,                   -- solvents and their shares by volume, or the name of a blend\n"
    "  amount_ml REAL NOT NULL,              -- ml\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("vapour_release"),
    "-- airflow_measured: 1 where its airflow was measured. low_exhaust: whether the exhaust draws from low down\n"
    "ALTER TABLE place ADD COLUMN airflow_measured INTEGER NOT NULL DEFAULT 0 CHECK (airflow_measured IN (0, 1));\n"
    "ALTER TABLE place ADD COLUMN low_exhaust TEXT NOT NULL DEFAULT 'unanswered' CHECK (low_exhaust IN ('unanswered', 'yes', 'no'));\n"
    "-- solvent: what evaporates from it, as its safety data sheet tells; empty: not told. solvent_pct: % by volume of it\n"
    "ALTER TABLE material_version ADD COLUMN solvent TEXT NOT NULL DEFAULT '';\n"
    "ALTER TABLE material_version ADD COLUMN solvent_pct REAL;\n",
    NULL,
};

static const char *const migration_7[] = {
    "CREATE TABLE bake (                     -- a load in an oven\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- its number, never used again\n"
    "  place_id INTEGER NOT NULL REFERENCES place, -- the oven\n"
    "  oven_air TEXT NOT NULL,               -- how its air moves\n"
    "  reviewed INTEGER NOT NULL CHECK (reviewed IN (0, 1)), -- 0: logged afterwards\n"
    "  retained_pct REAL,                    -- of the solvent put on, %; NULL: the default\n"
    "  room_c REAL,                          -- C; NULL: as read\n"
    "  note TEXT NOT NULL,\n"
    "  entered_at INTEGER NOT NULL,          -- moment\n"
    "  started_at INTEGER,                   -- moment; NULL: under review\n"
    "  ended_at INTEGER                      -- moment; NULL: not yet\n"
    ") STRICT;\n"
    "CREATE TABLE bake_part (                -- a coat that is baked\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  bake_id INTEGER NOT NULL REFERENCES bake,\n"
    "  coat_id INTEGER NOT NULL,\n"
    "  metal TEXT NOT NULL,\n"
    "  mass_kg REAL, area_m2 REAL, wall_mm REAL, -- kg, m2, mm\n"
    "  probe_id INTEGER REFERENCES sensor    -- on the metal\n"
    ") STRICT;\n"
    NEVER_CHANGED("bake_part")
    "CREATE TABLE bake_hold (                -- a step of its programme\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  bake_id INTEGER NOT NULL REFERENCES bake,\n"
    "  number INTEGER NOT NULL,              -- from 0\n"
    "  target_c REAL NOT NULL, ramp_min REAL NOT NULL, hold_min REAL NOT NULL, -- C, minutes\n"
    "  UNIQUE (bake_id, number)\n"
    ") STRICT;\n"
    NEVER_CHANGED("bake_hold")
    "CREATE TABLE bake_answer (              -- an answer of the review\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  bake_id INTEGER NOT NULL REFERENCES bake,\n"
    "  about TEXT NOT NULL,                  -- a question, or a thing that may be on the piece\n"
    "  answer TEXT NOT NULL CHECK (answer IN ('yes', 'no')),\n"
    "  at INTEGER NOT NULL                   -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("bake_answer"),
    "CREATE TABLE bake_gap (                 -- the service did not run while an oven was hot that nobody reads\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  bake_id INTEGER NOT NULL REFERENCES bake,\n"
    "  from_at INTEGER NOT NULL,             -- moment\n"
    "  to_at INTEGER                         -- moment; NULL: nobody said yet that it goes on\n"
    ") STRICT;\n"
    "CREATE TABLE bake_seen (                -- the last moment that the service ran while such an oven was hot\n"
    "  id INTEGER PRIMARY KEY CHECK (id = 1),-- one row\n"
    "  at INTEGER NOT NULL                   -- moment\n"
    ") STRICT;\n"
    "ALTER TABLE notice ADD COLUMN bake_id INTEGER REFERENCES bake;\n"
    "DROP INDEX notice_once;\n"
    "CREATE UNIQUE INDEX notice_once ON notice (ifnull(coat_id, 0), ifnull(mix_id, 0), ifnull(place_id, 0), ifnull(sensor_id, 0),"
    " ifnull(bake_id, 0), stage, boundary, kind, turn);\n",
    NULL,
};

static const char *const migration_8[] = {
    "CREATE TABLE piece_note (               -- what was seen or done, at a moment\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  text TEXT NOT NULL,\n"
    "  at INTEGER NOT NULL,                  -- moment\n"
    "  entered_at INTEGER NOT NULL           -- moment\n"
    ") STRICT;\n"
    NEVER_CHANGED("piece_note")
    "CREATE TABLE photo (                    -- a photo of a piece, without anything but the picture\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- its number, never used again\n"
    "  piece_id INTEGER NOT NULL REFERENCES piece,\n"
    "  type TEXT NOT NULL CHECK (type IN ('image/jpeg', 'image/png')),\n"
    "  width INTEGER NOT NULL, height INTEGER NOT NULL, -- pixels as stored\n"
    "  length INTEGER NOT NULL,              -- bytes\n"
    "  note TEXT NOT NULL,                   -- what it shows\n"
    "  entered_at INTEGER NOT NULL,          -- moment\n"
    "  bytes BLOB NOT NULL CHECK (length(bytes) = length) -- last, so that lists do not read it\n"
    ") STRICT;\n"
    "CREATE INDEX photo_of_piece ON photo (piece_id);\n",
    NULL,
};

static const char *const migration_9[] = {
    "-- What its label calls too hot, C of the metal, and too long: so many hours at that temperature. NULL: not told\n"
    "ALTER TABLE material_version ADD COLUMN bake_too_hot_c REAL;\n"
    "ALTER TABLE material_version ADD COLUMN bake_too_long_c REAL;\n"
    "ALTER TABLE material_version ADD COLUMN bake_too_long_h REAL;\n"
    "-- thinner: what its label says to thin it with; empty: not told\n"
    "ALTER TABLE material_version ADD COLUMN thinner TEXT NOT NULL DEFAULT '';\n",
    NULL,
};

static const char *const migration_5[] = {migration_5_channels, migration_5_notices, NULL};

static const char *const migration_4[] = {migration_4_sensors, migration_4_readings, migration_4_notices, NULL};

const struct migration store_migrations[] = {
    {"the first tables", migration_1},
    {"tests at the bench, tins, mixes", migration_2},
    {"closings by the hottest air", migration_3},
    {"sensors, suspects, adjustments, heating", migration_4},
    {"channels, deliveries, groups of notices", migration_5},
    {"open solvent, what an exhaust does, what a material is made of", migration_6},
    {"bakes", migration_7},
    {"photos and notes of pieces", migration_8},
    {"what a label calls too hot and too long, and its thinner", migration_9},
};
const unsigned store_migrations_count = sizeof store_migrations / sizeof *store_migrations;

/* ---- applying ---- */

static enum coat_result record_migration(struct store *store, unsigned number, int64_t now_ms, struct coat_error *error)
{
    char *sql = sqlite3_mprintf("INSERT INTO migration VALUES (%u, %lld, %Q);"
                                "PRAGMA application_id = %d; PRAGMA user_version = %u;",
                                number, (long long)now_ms, COAT_VERSION, STORE_APPLICATION_ID, number);
    if (!sql)
        return store_fail(store, SQLITE_NOMEM, error);
    enum coat_result result = store_exec(store, sql, error);
    sqlite3_free(sql);
    return result;
}

static enum coat_result run_migration(struct store *store, const struct migration *migration, unsigned number,
                                      int64_t now_ms, struct coat_error *error)
{
    enum coat_result result = store_exec(store, "BEGIN IMMEDIATE", error);
    for (size_t i = 0; result == COAT_OK && migration->sql[i]; i++)
        result = store_exec(store, migration->sql[i], error);
    if (result == COAT_OK)
        result = record_migration(store, number, now_ms, error);
    if (result == COAT_OK)
        result = store_exec(store, "COMMIT", error);
    if (result != COAT_OK && !sqlite3_get_autocommit(store->db))
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    return result;
}

enum coat_result store_migrate(struct store *store, const struct migration *list, unsigned count, int64_t now_ms,
                               struct coat_error *error)
{
    while ((unsigned)store->schema_version < count) {
        unsigned number = (unsigned)store->schema_version + 1;
        enum coat_result result = run_migration(store, &list[number - 1], number, now_ms, error);
        if (result != COAT_OK)
            return result;
        store->schema_version = (int)number;
    }
    return COAT_OK;
}

/* ---- whose file it is ---- */

struct file_marks {
    int64_t application_id, version, tables;
};

static enum coat_result read_marks(struct store *store, struct file_marks *ret, struct coat_error *error)
{
    enum coat_result result = store_query_int(store, "PRAGMA application_id", &ret->application_id, error);
    if (result == COAT_OK)
        result = store_query_int(store, "PRAGMA user_version", &ret->version, error);
    if (result == COAT_OK)
        result = store_query_int(store, "SELECT count(*) FROM sqlite_schema", &ret->tables, error);
    return result;
}

enum coat_result store_accept(struct store *store, unsigned newest, struct coat_error *error)
{
    struct file_marks marks = {0};
    enum coat_result result = read_marks(store, &marks, error);
    if (result != COAT_OK)
        return result;
    bool empty = marks.application_id == 0 && marks.version == 0 && marks.tables == 0;
    if ((marks.application_id != STORE_APPLICATION_ID && !empty) || marks.version < 0)
        return coat_fail(error, COAT_STORE_FOREIGN, "db",
                         "%.160s belongs to another program, it is not a cure record: name another file with --db", store->path);
    if (marks.version > newest)
        return coat_fail(error, COAT_STORE_NEWER, "db",
                         "%.160s was written by a newer program (its tables are number %lld, this one knows %u): "
                         "update coatd, or name another file with --db",
                         store->path, (long long)marks.version, newest);
    store->schema_version = (int)marks.version;
    return COAT_OK;
}
