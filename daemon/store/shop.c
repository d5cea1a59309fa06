/* Settings, places, pieces, racks, moves. */
#include "daemon/store/internal.h"

#include <string.h>

#define NO_WORDS 0

#define SETTINGS(X)                                                                                        \
    X(shop_settings, TEXT, zone, NO_WORDS) X(shop_settings, WORD, units, WORDS_units_system)                \
    X(shop_settings, INT, lead_closing_min, NO_WORDS) X(shop_settings, INT, quiet_from_min, NO_WORDS)       \
    X(shop_settings, INT, quiet_to_min, NO_WORDS) X(shop_settings, INT, work_from_min, NO_WORDS)            \
    X(shop_settings, INT, work_to_min, NO_WORDS) X(shop_settings, INT, morning_min, NO_WORDS)

#define PLACE(X)                                                                                           \
    X(place, TEXT, name, NO_WORDS) X(place, WORD, kind, WORDS_place_kind) X(place, REAL, volume_m3, NO_WORDS) \
    X(place, REAL, airflow_m3h, NO_WORDS) X(place, FLAG, airflow_measured, NO_WORDS)                        \
    X(place, WORD, low_exhaust, WORDS_answer) X(place, MOMENT, added_at, NO_WORDS)                          \
    X(place, MOMENT, removed_at, NO_WORDS)

#define PIECE(X)                                                                                           \
    X(piece, TEXT, name, NO_WORDS) X(piece, WORD, old_finish, WORDS_old_finish)                             \
    X(piece, REAL, mass_kg, NO_WORDS) X(piece, REAL, wall_mm, NO_WORDS) X(piece, TEXT, note, NO_WORDS)      \
    X(piece, MOMENT, added_at, NO_WORDS) X(piece, MOMENT, removed_at, NO_WORDS)

#define RACK(X)                                                                                            \
    X(rack, TEXT, name, NO_WORDS) X(rack, MOMENT, added_at, NO_WORDS) X(rack, MOMENT, removed_at, NO_WORDS)

#define MOVE(X)                                                                                            \
    X(move, INT, piece_id, NO_WORDS) X(move, INT, place_id, NO_WORDS) X(move, INT, at, NO_WORDS)            \
    X(move, INT, entered_at, NO_WORDS)

static const struct column settings_columns[] = {SETTINGS(COLUMN_ENTRY)};
static const struct column place_columns[] = {COLUMN_ID(place) PLACE(COLUMN_ENTRY)};
static const struct column piece_columns[] = {COLUMN_ID(piece) PIECE(COLUMN_ENTRY)};
static const struct column rack_columns[] = {COLUMN_ID(rack) RACK(COLUMN_ENTRY)};
static const struct column move_columns[] = {COLUMN_ID(move) MOVE(COLUMN_ENTRY)};

static const struct record settings_record = RECORD_OF(settings_columns);
static const struct record place_record = RECORD_OF(place_columns);
static const struct record piece_record = RECORD_OF(piece_columns);
static const struct record rack_record = RECORD_OF(rack_columns);
static const struct record move_record = RECORD_OF(move_columns);

/* A thing with a name: its three statements, by the list of its columns. */
#define NAMED_ADD(table, LIST)                                                                             \
    "INSERT INTO " table " (id, name_key" LIST(COLUMN_NAME) ") VALUES (:id, :name_key" LIST(COLUMN_PARAMETER) ")"
#define NAMED_PUT(table, LIST)                                                                             \
    "UPDATE " table " SET name_key = :name_key" LIST(COLUMN_SET) " WHERE id = :id"
#define ALL_OF(table, LIST) "SELECT id" LIST(COLUMN_NAME) " FROM " table

const struct statement_text shop_statements[] = {
    {SETTINGS_GET, "SELECT zone, units, lead_closing_min, quiet_from_min, quiet_to_min, work_from_min, work_to_min, morning_min"
                   " FROM shop_settings"},
    {SETTINGS_SET, "UPDATE shop_settings SET id = 1" SETTINGS(COLUMN_SET)},
    {PLACE_ADD, NAMED_ADD("place", PLACE)},
    {PLACE_PUT, NAMED_PUT("place", PLACE)},
    {PLACE_LIST, ALL_OF("place", PLACE) " ORDER BY id"},
    {PLACE_RISK_ADD, "INSERT INTO place_risk VALUES (:place_id, :risk, :answer)"},
    {PLACE_RISK_CLEAR, "DELETE FROM place_risk WHERE place_id = :place_id"},
    {PLACE_RISK_LIST, "SELECT risk, answer FROM place_risk WHERE place_id = :place_id"},
    {PIECE_ADD, NAMED_ADD("piece", PIECE)},
    {PIECE_PUT, NAMED_PUT("piece", PIECE)},
    {PIECE_LIST, ALL_OF("piece", PIECE) " ORDER BY id"},
    {PIECE_AREA_ADD, "INSERT INTO piece_area VALUES (:piece_id, :position, :name)"},
    {PIECE_AREA_CLEAR, "DELETE FROM piece_area WHERE piece_id = :piece_id"},
    {PIECE_AREA_LIST, "SELECT name FROM piece_area WHERE piece_id = :piece_id ORDER BY position"},
    {RACK_ADD, NAMED_ADD("rack", RACK)},
    {RACK_PUT, NAMED_PUT("rack", RACK)},
    {RACK_LIST, ALL_OF("rack", RACK) " ORDER BY id"},
    {RACK_PIECE_ADD, "INSERT INTO rack_piece VALUES (:rack_id, :position, :piece_id)"},
    {RACK_PIECE_CLEAR, "DELETE FROM rack_piece WHERE rack_id = :rack_id"},
    {RACK_PIECE_LIST, "SELECT piece_id FROM rack_piece WHERE rack_id = :rack_id ORDER BY position"},
    {MOVE_ADD, "INSERT INTO move (id" MOVE(COLUMN_NAME) ") VALUES (:id" MOVE(COLUMN_PARAMETER) ")"},
    {MOVE_LIST, ALL_OF("move", MOVE) " ORDER BY piece_id, at, id"},
    {0, NULL},
};

/* ---- settings ---- */

enum coat_result store_settings_get(struct store *store, struct shop_settings *ret)
{
    struct statement *s = statement_use(store, SETTINGS_GET);
    struct shop_settings settings;
    if (!statement_row(s))
        statement_malformed(s);
    else if (take_record(s, &settings_record, &settings))
        *ret = settings;
    return statement_end(s);
}

enum coat_result store_settings_set(struct store *store, const struct shop_settings *settings)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, SETTINGS_SET);
    bind_record(s, &settings_record, settings);
    return statement_run(s);
}

/* ---- things with a name ---- */

static enum coat_result named_add(struct store *store, enum statement_id id, const struct record *record,
                                  const void *value, const char *name, int64_t *ret_id)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, id);
    bind_record(s, record, value);
    bind_ref(s, ":id", 0);
    bind_name_key(s, name);
    return statement_run_add(s, ret_id);
}

static enum coat_result named_put(struct store *store, enum statement_id id, const struct record *record,
                                  const void *value, const char *name)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, id);
    bind_record(s, record, value);
    bind_name_key(s, name);
    return statement_run_on_row(s);
}

/* Empties the rows under a thing before they are written anew. */
static enum coat_result clear_under(struct store *store, enum statement_id id, const char *parameter, int64_t owner_id)
{
    struct statement *s = statement_use(store, id);
    bind_int(s, parameter, owner_id);
    return statement_run(s);
}

/* ---- places ---- */

static enum coat_result write_risk(struct store *store, int64_t place_id, unsigned risk, enum answer answer)
{
    struct statement *s = statement_use(store, PLACE_RISK_ADD);
    bind_int(s, ":place_id", place_id);
    bind_word(s, ":risk", WORDS_place_risk, risk);
    bind_word(s, ":answer", WORDS_answer, answer);
    return statement_run(s);
}

static enum coat_result write_risks(struct store *store, const struct place *place, int64_t place_id)
{
    enum coat_result result = clear_under(store, PLACE_RISK_CLEAR, ":place_id", place_id);
    for (unsigned risk = 0; risk < PLACE_RISK_COUNT && result == COAT_OK; risk++) {
        if (place->risk[risk] != ANSWER_NONE)
            result = write_risk(store, place_id, risk, place->risk[risk]);
    }
    return result == COAT_OK ? COAT_OK : store_spoil(store, result);
}

enum coat_result store_place_add(struct store *store, const struct place *place, int64_t *ret_id)
{
    int64_t id = 0;
    enum coat_result result = named_add(store, PLACE_ADD, &place_record, place, place->name, &id);
    if (result == COAT_OK)
        result = write_risks(store, place, id);
    if (result == COAT_OK)
        *ret_id = id;
    return result;
}

enum coat_result store_place_put(struct store *store, const struct place *place)
{
    enum coat_result result = named_put(store, PLACE_PUT, &place_record, place, place->name);
    return result == COAT_OK ? write_risks(store, place, place->id) : result;
}

static enum coat_result read_risks(struct store *store, struct place *place)
{
    struct statement *s = statement_use(store, PLACE_RISK_LIST);
    bind_int(s, ":place_id", place->id);
    while (statement_row(s)) {
        unsigned risk = take_word(s, WORDS_place_risk);
        unsigned answer = take_word(s, WORDS_answer);
        if (s->result == COAT_OK)
            place->risk[risk] = (enum answer)answer;
    }
    return statement_end(s);
}

enum coat_result store_places(struct store *store, bool (*each)(const struct place *, void *), void *context)
{
    struct statement *s = statement_use(store, PLACE_LIST);
    struct place place = {0};
    while (statement_row(s) && take_record(s, &place_record, &place)) {
        memset(place.risk, 0, sizeof place.risk); /* ANSWER_NONE */
        s->result = read_risks(store, &place);
        if (s->result != COAT_OK || !each(&place, context))
            break;
    }
    return statement_end(s);
}

/* ---- pieces ---- */

static enum coat_result write_area(struct store *store, int64_t piece_id, unsigned position, const char *name)
{
    struct statement *s = statement_use(store, PIECE_AREA_ADD);
    bind_int(s, ":piece_id", piece_id);
    bind_int(s, ":position", position);
    bind_text(s, ":name", name, AREA_SIZE - 1);
    return statement_run(s);
}

static enum coat_result write_areas(struct store *store, const struct piece *piece, int64_t piece_id)
{
    assert(piece->areas <= AREAS_MAX);
    enum coat_result result = clear_under(store, PIECE_AREA_CLEAR, ":piece_id", piece_id);
    for (unsigned i = 0; i < piece->areas && result == COAT_OK; i++)
        result = write_area(store, piece_id, i, piece->area[i]);
    return result == COAT_OK ? COAT_OK : store_spoil(store, result);
}

enum coat_result store_piece_add(struct store *store, const struct piece *piece, int64_t *ret_id)
{
    int64_t id = 0;
    enum coat_result result = named_add(store, PIECE_ADD, &piece_record, piece, piece->name, &id);
    if (result == COAT_OK)
        result = write_areas(store, piece, id);
    if (result == COAT_OK)
        *ret_id = id;
    return result;
}

enum coat_result store_piece_put(struct store *store, const struct piece *piece)
{
    enum coat_result result = named_put(store, PIECE_PUT, &piece_record, piece, piece->name);
    return result == COAT_OK ? write_areas(store, piece, piece->id) : result;
}

static enum coat_result read_areas(struct store *store, struct piece *piece)
{
    struct statement *s = statement_use(store, PIECE_AREA_LIST);
    bind_int(s, ":piece_id", piece->id);
    piece->areas = 0;
    memset(piece->area, 0, sizeof piece->area);
    while (statement_row(s)) {
        if (piece->areas == AREAS_MAX)
            statement_malformed(s);
        else
            take_text(s, piece->area[piece->areas++], AREA_SIZE);
    }
    return statement_end(s);
}

enum coat_result store_pieces(struct store *store, bool (*each)(const struct piece *, void *), void *context)
{
    struct statement *s = statement_use(store, PIECE_LIST);
    struct piece piece = {0};
    while (statement_row(s) && take_record(s, &piece_record, &piece)) {
        s->result = read_areas(store, &piece);
        if (s->result != COAT_OK || !each(&piece, context))
            break;
    }
    return statement_end(s);
}

/* ---- racks ---- */

static enum coat_result write_rack_piece(struct store *store, int64_t rack_id, unsigned position, int64_t piece_id)
{
    struct statement *s = statement_use(store, RACK_PIECE_ADD);
    bind_int(s, ":rack_id", rack_id);
    bind_int(s, ":position", position);
    bind_int(s, ":piece_id", piece_id);
    return statement_run(s);
}

static enum coat_result write_rack_pieces(struct store *store, const struct rack *rack, int64_t rack_id)
{
    assert(rack->pieces <= RACK_PIECES_MAX);
    enum coat_result result = clear_under(store, RACK_PIECE_CLEAR, ":rack_id", rack_id);
    for (unsigned i = 0; i < rack->pieces && result == COAT_OK; i++)
        result = write_rack_piece(store, rack_id, i, rack->piece_id[i]);
    return result == COAT_OK ? COAT_OK : store_spoil(store, result);
}

enum coat_result store_rack_add(struct store *store, const struct rack *rack, int64_t *ret_id)
{
    int64_t id = 0;
    enum coat_result result = named_add(store, RACK_ADD, &rack_record, rack, rack->name, &id);
    if (result == COAT_OK)
        result = write_rack_pieces(store, rack, id);
    if (result == COAT_OK)
        *ret_id = id;
    return result;
}

enum coat_result store_rack_put(struct store *store, const struct rack *rack)
{
    enum coat_result result = named_put(store, RACK_PUT, &rack_record, rack, rack->name);
    return result == COAT_OK ? write_rack_pieces(store, rack, rack->id) : result;
}

static enum coat_result read_rack_pieces(struct store *store, struct rack *rack)
{
    struct statement *s = statement_use(store, RACK_PIECE_LIST);
    bind_int(s, ":rack_id", rack->id);
    rack->pieces = 0;
    memset(rack->piece_id, 0, sizeof rack->piece_id);
    while (statement_row(s)) {
        if (rack->pieces == RACK_PIECES_MAX)
            statement_malformed(s);
        else
            rack->piece_id[rack->pieces++] = take_int(s);
    }
    return statement_end(s);
}

enum coat_result store_racks(struct store *store, bool (*each)(const struct rack *, void *), void *context)
{
    struct statement *s = statement_use(store, RACK_LIST);
    struct rack rack = {0};
    while (statement_row(s) && take_record(s, &rack_record, &rack)) {
        s->result = read_rack_pieces(store, &rack);
        if (s->result != COAT_OK || !each(&rack, context))
            break;
    }
    return statement_end(s);
}

/* ---- moves ---- */

enum coat_result store_move_add(struct store *store, const struct move *move, int64_t *ret_id)
{
    return add_record(store, MOVE_ADD, &move_record, move, ret_id);
}

enum coat_result store_moves(struct store *store, bool (*each)(const struct move *, void *), void *context)
{
    struct statement *s = statement_use(store, MOVE_LIST);
    struct move move;
    while (statement_row(s) && take_record(s, &move_record, &move) && each(&move, context))
        ;
    return statement_end(s);
}
