/* Which notices a coat's state calls for, and how they are worded. */
#ifndef SHOP_NOTICE_H
#define SHOP_NOTICE_H

#include "daemon/shop/model.h"

/* Notices to raise (id 0) and stored ones to change (id above 0), to be stored in one transaction. */
struct notice_batch {
    struct notice *item;
    size_t count, capacity;
};

/* false without memory. */
bool notice_batch_add(struct notice_batch *batch, const struct notice *notice);
/* Adds what the mixes call for at at_ms (mix.c); *changed is set where one stands otherwise than was told. */
COAT_CHECKED enum coat_result notice_gather_mixes(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch,
                                                  bool *changed);
/* Ties a notice of a mix, number (index + 1) of shop->notices, to it. */
void mix_notice_tie(struct shop *shop, size_t number);

/* The same of the air itself and its sensors (air_news.c). */
COAT_CHECKED enum coat_result notice_gather_air(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed);
void air_notice_tie(struct shop *shop, size_t number);

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

/* The cautions of a coat as it is at now_ms (view.c); whether it is not yet through its guard stage. */
bool coat_cautions(struct shop *shop, size_t coat_index, int64_t now_ms, struct caution_set *ret);

/* What a notice of a kind says after the name of what it is about. */
const char *notice_wording(enum notice_kind kind);
/* The sentence of a notice of a coat, into notice->text. */
void notice_word(struct shop *shop, struct notice *notice);

#endif
