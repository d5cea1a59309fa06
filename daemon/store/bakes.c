/* Bakes: loads in an oven, their parts and programmes, the answers of their reviews, and when nobody watched. */
#include "daemon/store/internal.h"

#define NO_WORDS 0

#define BAKE(X)                                                                                            \
    X(bake, INT, place_id, NO_WORDS) X(bake, WORD, oven_air, WORDS_oven_air) X(bake, FLAG, reviewed, NO_WORDS) \
    X(bake, REAL, retained_pct, NO_WORDS) X(bake, REAL, room_c, NO_WORDS) X(bake, TEXT, note, NO_WORDS)     \
    X(bake, INT, entered_at, NO_WORDS) X(bake, MOMENT, started_at, NO_WORDS) X(bake, MOMENT, ended_at, NO_WORDS)

#define PART(X)                                                                                            \
    X(bake_part, INT, bake_id, NO_WORDS) X(bake_part, INT, coat_id, NO_WORDS) X(bake_part, WORD, metal, WORDS_metal) \
    X(bake_part, REAL, mass_kg, NO_WORDS) X(bake_part, REAL, area_m2, NO_WORDS) X(bake_part, REAL, wall_mm, NO_WORDS) \
    X(bake_part, REF, probe_id, NO_WORDS)

#define HOLD(X)                                                                                            \
    X(bake_hold, INT, bake_id, NO_WORDS) X(bake_hold, INT, number, NO_WORDS) X(bake_hold, REAL, target_c, NO_WORDS) \
    X(bake_hold, REAL, ramp_min, NO_WORDS) X(bake_hold, REAL, hold_min, NO_WORDS)

#define ANSWER(X)                                                                                          \
    X(bake_answer, INT, bake_id, NO_WORDS) X(bake_answer, TEXT, about, NO_WORDS)                            \
    X(bake_answer, WORD, answer, WORDS_answer) X(bake_answer, INT, at, NO_WORDS)

#define GAP(X)                                                                                             \
    X(bake_gap, INT, bake_id, NO_WORDS) X(bake_gap, INT, from_at, NO_WORDS) X(bake_gap, MOMENT, to_at, NO_WORDS)

static const struct column bake_columns[] = {COLUMN_ID(bake) BAKE(COLUMN_ENTRY)};
static const struct column part_columns[] = {COLUMN_ID(bake_part) PART(COLUMN_ENTRY)};
static const struct column hold_columns[] = {COLUMN_ID(bake_hold) HOLD(COLUMN_ENTRY)};
static const struct column answer_columns[] = {COLUMN_ID(bake_answer) ANSWER(COLUMN_ENTRY)};
static const struct column gap_columns[] = {COLUMN_ID(bake_gap) GAP(COLUMN_ENTRY)};

static const struct record bake_record = RECORD_OF(bake_columns);
static const struct record part_record = RECORD_OF(part_columns);
static const struct record hold_record = RECORD_OF(hold_columns);
static const struct record answer_record = RECORD_OF(answer_columns);
static const struct record gap_record = RECORD_OF(gap_columns);

#define FACT_ADD(table, LIST) "INSERT INTO " table " (id" LIST(COLUMN_NAME) ") VALUES (:id" LIST(COLUMN_PARAMETER) ")"
#define FACT_PUT(table, LIST) "UPDATE " table " SET id = :id" LIST(COLUMN_SET) " WHERE id = :id"
#define ALL_OF(table, LIST) "SELECT id" LIST(COLUMN_NAME) " FROM " table " ORDER BY id"

const struct statement_text bake_statements[] = {
    {BAKE_ADD, FACT_ADD("bake", BAKE)},
    {BAKE_PUT, FACT_PUT("bake", BAKE)},
    {BAKE_LIST, ALL_OF("bake", BAKE)},
    {BAKE_PART_ADD, FACT_ADD("bake_part", PART)},
    {BAKE_PART_LIST, ALL_OF("bake_part", PART)},
    {BAKE_HOLD_ADD, FACT_ADD("bake_hold", HOLD)},
    {BAKE_HOLD_LIST, ALL_OF("bake_hold", HOLD)},
    {BAKE_ANSWER_ADD, FACT_ADD("bake_answer", ANSWER)},
    {BAKE_ANSWER_LIST, ALL_OF("bake_answer", ANSWER)},
    {BAKE_GAP_ADD, FACT_ADD("bake_gap", GAP)},
    {BAKE_GAP_PUT, FACT_PUT("bake_gap", GAP)},
    {BAKE_GAP_LIST, ALL_OF("bake_gap", GAP)},
    {BAKE_SEEN_GET, "SELECT at FROM bake_seen"},
    {BAKE_SEEN_PUT, "INSERT OR REPLACE INTO bake_seen VALUES (1, :at)"},
    {0, NULL},
};

enum coat_result store_bake_add(struct store *store, const struct bake *bake, int64_t *ret_id)
{
    return add_record(store, BAKE_ADD, &bake_record, bake, ret_id);
}

static enum coat_result put(struct store *store, enum statement_id id, const struct record *record, const void *value)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, id);
    bind_record(s, record, value);
    return statement_run_on_row(s);
}

enum coat_result store_bake_put(struct store *store, const struct bake *bake)
{
    return put(store, BAKE_PUT, &bake_record, bake);
}

enum coat_result store_bake_part_add(struct store *store, const struct bake_part *part, int64_t *ret_id)
{
    return add_record(store, BAKE_PART_ADD, &part_record, part, ret_id);
}

enum coat_result store_bake_hold_add(struct store *store, const struct bake_hold *hold, int64_t *ret_id)
{
    return add_record(store, BAKE_HOLD_ADD, &hold_record, hold, ret_id);
}

enum coat_result store_bake_answer_add(struct store *store, const struct bake_answer *answer, int64_t *ret_id)
{
    return add_record(store, BAKE_ANSWER_ADD, &answer_record, answer, ret_id);
}

enum coat_result store_bake_gap_add(struct store *store, const struct bake_gap *gap, int64_t *ret_id)
{
    return add_record(store, BAKE_GAP_ADD, &gap_record, gap, ret_id);
}

enum coat_result store_bake_gap_put(struct store *store, const struct bake_gap *gap)
{
    return put(store, BAKE_GAP_PUT, &gap_record, gap);
}

#define LISTER(name, id, record, type)                                                                     \
    enum coat_result name(struct store *store, bool (*each)(const struct type *, void *), void *context)    \
    {                                                                                                      \
        struct statement *s = statement_use(store, id);                                                    \
        struct type value;                                                                                 \
        while (statement_row(s) && take_record(s, &record, &value) && each(&value, context))               \
            ;                                                                                              \
        return statement_end(s);                                                                           \
    }
LISTER(store_bakes, BAKE_LIST, bake_record, bake)
LISTER(store_bake_parts, BAKE_PART_LIST, part_record, bake_part)
LISTER(store_bake_holds, BAKE_HOLD_LIST, hold_record, bake_hold)
LISTER(store_bake_answers, BAKE_ANSWER_LIST, answer_record, bake_answer)
LISTER(store_bake_gaps, BAKE_GAP_LIST, gap_record, bake_gap)

enum coat_result store_bake_seen(struct store *store, int64_t *ret_at)
{
    struct statement *s = statement_use(store, BAKE_SEEN_GET);
    *ret_at = statement_row(s) ? take_int(s) : MOMENT_NONE;
    return statement_end(s);
}

enum coat_result store_bake_seen_put(struct store *store, int64_t at)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, BAKE_SEEN_PUT);
    bind_int(s, ":at", at);
    return statement_run(s);
}
