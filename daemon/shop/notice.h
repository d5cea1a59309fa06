/* Which notices a coat's state calls for, and how they are worded. */
#ifndef SHOP_NOTICE_H
#define SHOP_NOTICE_H

#include "daemon/shop/model.h"

/* Notices to raise (id 0) and stored ones to change (id above 0), to be stored in one transaction. */
struct notice_batch {
    struct notice *item;
    size_t count, capacity;
};

/* Adds what the coat calls for at at_ms; now_ms stamps it. */
COAT_CHECKED enum coat_result notice_gather(struct shop *shop, size_t coat_index, int64_t at_ms, int64_t now_ms,
                                            struct notice_batch *batch);
/* Inside a transaction; fills ids. Afterwards notice_batch_apply puts them into the shop's list. */
COAT_CHECKED enum coat_result notice_batch_store(struct shop *shop, struct notice_batch *batch);
COAT_CHECKED enum coat_result notice_batch_apply(struct shop *shop, const struct notice_batch *batch);
void notice_batch_free(struct notice_batch *batch);

/* A number that changes when any state of the coat does. */
uint32_t notice_state_mark(struct shop *shop, size_t coat_index, int64_t at_ms);

/* The boundaries of one stage of a clock: the first and how many; count 0 where it has none. */
struct stage_run {
    struct boundary_clock *first;
    unsigned count;
};
struct stage_run stage_run_of(struct coat_clock *clock, enum stage stage);

/* How many boundaries of the run are behind at at_ms: the index of the span that then is in. */
unsigned stage_current(const struct stage_run *run, int64_t at_ms);
/* What may be done in span `index` of a run: `first` of the material, then what each boundary says. */
enum span_do stage_span(const struct material *material, const struct stage_run *run, unsigned index);
/* The state word for the span that is in. `go_before`: whether a go span came before it. */
enum state stage_state(const struct shop *shop, const struct coat_clock *clock, const struct material *material,
                       const struct stage_run *run, int64_t at_ms);
/* Sanded since the span began that asks for it. */
bool stage_prepared(const struct shop *shop, const struct coat *coat, const struct material *material,
                    const struct stage_run *run, int64_t at_ms);

/* The sentence of a notice, into notice->text. */
void notice_word(struct shop *shop, struct notice *notice);

#endif
