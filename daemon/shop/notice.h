/* Which notices a coat's state calls for, and how they are worded. */
#ifndef SHOP_NOTICE_H
#define SHOP_NOTICE_H

#include "coat/shop_check.h"
#include "daemon/shop/model.h"

/* Notices to raise (id 0) and stored ones to change (id above 0), to be stored in one transaction. */
struct notice_batch {
    struct notice *item;
    size_t count, capacity;
};

/* false without memory. */
bool notice_batch_add(struct notice_batch *batch, const struct notice *notice);
/* It is over, nobody need look any more: a notice of the record, or one that this batch raises. */
COAT_CHECKED enum coat_result notice_take_back(const struct notice *notice, int64_t now_ms, struct notice_batch *batch);
/* Adds what the mixes call for at at_ms (mix.c); *changed is set where one stands otherwise than was told. */
COAT_CHECKED enum coat_result notice_gather_mixes(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch,
                                                  bool *changed);
/* Ties a notice of a mix, number (index + 1) of shop->notices, to it. */
void mix_notice_tie(struct shop *shop, size_t number);

/* The same of the air itself and its sensors (air_news.c). */
COAT_CHECKED enum coat_result notice_gather_air(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed);
void air_notice_tie(struct shop *shop, size_t number);

/* The same of bakes (bake_news.c). */
COAT_CHECKED enum coat_result notice_gather_bakes(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed);
int64_t bakes_next_due(struct shop *shop, int64_t from_ms);

/* Adds what the coat calls for at at_ms; now_ms stamps it. */
COAT_CHECKED enum coat_result notice_gather(struct shop *shop, size_t coat_index, int64_t at_ms, int64_t now_ms,
                                            struct notice_batch *batch);
/* Inside a transaction; fills ids. Afterwards notice_batch_apply puts them into the shop's list. */
COAT_CHECKED enum coat_result notice_batch_store(struct shop *shop, struct notice_batch *batch);
COAT_CHECKED enum coat_result notice_batch_apply(struct shop *shop, const struct notice_batch *batch);
/* Ties the last of shop->notices to its coat. */
COAT_CHECKED enum coat_result notice_tie(struct shop *shop);
void notice_batch_free(struct notice_batch *batch);

/* A number that changes when any state of the coat does. */
uint32_t notice_state_mark(struct shop *shop, size_t coat_index, int64_t at_ms);

/* The boundaries of one stage of a clock: the first and how many; count 0 where it has none. */
struct stage_run {
    struct boundary_clock *first;
    unsigned count;
};
struct stage_run stage_run_of(struct coat_clock *clock, enum stage stage);

/* When span `index` (above 0) begins: when the last of the boundaries before it is reached, MOMENT_NONE where one never is. A closing
 * that comes before its opening does not let anything through: a coat that is still wet is not to be wiped, scuffed or coated, and
 * once its opening comes, the span after the closing is in. */
int64_t stage_enters(const struct stage_run *run, unsigned index);
/* The soonest that span `index` can begin whatever the air: openings by their label's floor. */
int64_t stage_enters_soonest(const struct stage_run *run, unsigned index);
/* The index of the span that is in at at_ms. */
unsigned stage_current(const struct stage_run *run, int64_t at_ms);
/* What may be done in span `index` of a run: `first` of the material, then what each boundary says. */
enum span_do stage_span(const struct material *material, const struct stage_run *run, unsigned index);
/* The state word for the span that is in. `go_before`: whether a go span came before it. */
enum state stage_state(const struct shop *shop, const struct coat_clock *clock, const struct material *material,
                       const struct stage_run *run, int64_t at_ms);
/* Sanded since the span began that asks for it. */
bool stage_prepared(const struct shop *shop, const struct coat *coat, const struct material *material,
                    const struct stage_run *run, int64_t at_ms);

/* ---- coat_news.c ---- */
/* The first stage of a coat that people wait for and that stands still in the air as it is at at_ms. Not `cure`: that takes weeks, and every cold night stops it. */
struct coat_stall {
    struct boundary_clock *boundary;
    enum stall why;
    int64_t since_at;      /* MOMENT_NONE: for more than a day */
};
bool coat_stalled(struct shop *shop, size_t coat_index, int64_t at_ms, struct coat_stall *ret);
/* How long it stands still before that is told, and before it is kept as a stretch of its strip. */
#define STALL_LASTS_MS MS_PER_H
bool coat_stall_lasts(const struct coat_stall *stall, int64_t at_ms);
/* What happened, as measured, before the coat's guard stage: the air left the material's limits, or water may have come down on the casting. */
enum inspect coat_inspect(struct shop *shop, size_t coat_index, int64_t at_ms);

/* ---- still.c ---- */
/* Fills in where its strip stood still. */
void coat_fill_stills(struct shop *shop, size_t coat_index, int64_t now_ms, struct coat_view *view);

/* ---- view.c ---- */
/* Why an opening that is pending does not move on. */
enum stall boundary_stall(const struct boundary_clock *boundary, int64_t at_ms);

/* ---- day_news.c: what the day brings to the shop as a whole ---- */
COAT_CHECKED enum coat_result notice_gather_day(struct shop *shop, int64_t now_ms, struct notice_batch *batch);
/* The next moment after from_ms at which it brings something by itself; MOMENT_NONE. */
int64_t day_next_due(const struct shop *shop, int64_t from_ms);
/* Up to now_ms all is told: a coat that comes later in the morning is no reason for its list. */
void day_settle(struct shop *shop, int64_t now_ms);
/* The day's list, as it is now: lines for people, behind what is in `text` already. */
void day_list(struct shop *shop, int64_t now_ms, char *text, size_t size);

/* ---- spray_news.c ---- */
/* Once an hour at most, with the readings that come: with stale air nothing is known of hours to come. */
COAT_CHECKED enum coat_result notice_gather_spray(struct shop *shop, int64_t now_ms, struct notice_batch *batch);

/* ---- check_spray.c ---- */
/* Whether shop_check() of now can find that the air alone refuses it, and hours in which it does not that begin in the CHECK_COMING_STARTS - 1 h to come.
 * Costs little: false is sure, true is not. */
#define CHECK_COMING_STARTS 4u
bool shop_check_may_come(struct shop *shop, const struct check_query *query);

/* The cautions of a coat as it is at now_ms (view.c); whether it is not yet through its guard stage. */
bool coat_cautions(struct shop *shop, size_t coat_index, int64_t now_ms, struct caution_set *ret);

/* At at_ms it is still to come that this was raised or taken back: the clock was set back since. Until then it is left alone, so that nothing is told twice. */
bool notice_is_ahead(const struct notice *notice, int64_t at_ms);
/* Fills shop->ahead_until; after loading, and when the clock was set back (turn.c). */
void notice_find_ahead(struct shop *shop, int64_t now_ms);
struct notice *notice_by_id(const struct shop *shop, int64_t id); /* NULL where there is none */

/* ---- notice_group.c ---- */
/* The id of the notice that stands for the group which a new one belongs to: one that is not told yet, of the record or of the first `stored` of the batch;
 * 0: none, it stands for itself. */
int64_t notice_group_find(const struct shop *shop, const struct notice *batch, size_t stored, const struct notice *notice);
/* Ties a notice, number (index + 1) of shop->notices, to its group; false without memory. */
bool notice_group_tie(struct shop *shop, size_t number);
/* Whether it, or one that joined it, was raised by a clock that was set back since, and what is said is not so yet by the clock as it stands. */
bool notice_is_early(const struct shop *shop, const struct notice *head, int64_t now_ms);
/* The one that stands for its group. */
struct notice *notice_head(const struct shop *shop, const struct notice *notice);
/* Whether quiet hours do not hold it back: people can be hurt, or are there anyway. */
bool notice_breaks_quiet(enum notice_kind kind);
/* Puts out to the channels what is held back no more; a transaction of its own where there is something. *ret_told: there was. */
COAT_CHECKED enum coat_result notice_release(struct shop *shop, int64_t now_ms, bool *ret_told);
/* It was told then: what is told after it comes behind it, for who follows by the moment and then the number. MOMENT_NONE: it was not. */
void notice_raise_floor(struct shop *shop, int64_t told_at, int64_t id);
/* The next moment after from_ms at which something may be put out; MOMENT_NONE. */
int64_t notice_release_next(const struct shop *shop, int64_t from_ms);

/* ---- notice_words.c ---- */
/* Whether a notice is about a coat that lies on a piece (of a mix, the air, the shop otherwise). */
bool notice_is_of_coat(const struct notice *notice);
/* What a notice of a coat says of pieces named so; `until_at`: of what it announces, MOMENT_NONE. Without `act` only its first sentence, without the end. */
void notice_compose(struct shop *shop, const struct notice *notice, const char *names, bool assumed, const char *act, char *ret, size_t size);

/* How long the first sentence of such a text is, without its full stop: those of names end none. */
size_t notice_first_sentence(const struct shop *shop, const char *text);
/* As much of `length` bytes of UTF-8 as fits, in whole characters. */
void notice_cut(const char *text, size_t length, char *ret, size_t size);

/* What a notice of a kind says after the name of what it is about. */
const char *notice_wording(enum notice_kind kind);
/* The sentence of a notice of a coat, into notice->text. */
void notice_word(struct shop *shop, struct notice *notice);

#endif
