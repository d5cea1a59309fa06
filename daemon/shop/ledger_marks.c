/* The marks of a ledger: a binary heap, least target first. */
#include "daemon/shop/ledger.h"

#include "daemon/shop/list.h"

static void swap_marks(struct mark *a, struct mark *b)
{
    struct mark kept = *a;
    *a = *b;
    *b = kept;
}

enum coat_result ledger_mark_add(struct ledger *ledger, struct mark mark)
{
    if (!list_reserve((void **)&ledger->heap, &ledger->marks_capacity, ledger->marks, sizeof *ledger->heap))
        return COAT_NO_MEMORY;
    size_t i = ledger->marks++;
    ledger->heap[i] = mark;
    for (; i > 0 && ledger->heap[(i - 1) / 2].target > ledger->heap[i].target; i = (i - 1) / 2)
        swap_marks(&ledger->heap[(i - 1) / 2], &ledger->heap[i]);
    return COAT_OK;
}

static void sink_mark(struct ledger *ledger, size_t i)
{
    for (;;) {
        size_t least = i, left = 2 * i + 1, right = left + 1;
        if (left < ledger->marks && ledger->heap[left].target < ledger->heap[least].target)
            least = left;
        if (right < ledger->marks && ledger->heap[right].target < ledger->heap[least].target)
            least = right;
        if (least == i)
            return;
        swap_marks(&ledger->heap[i], &ledger->heap[least]);
        i = least;
    }
}

bool ledger_mark_pop(struct ledger *ledger, double value, struct mark *ret)
{
    if (ledger->marks == 0 || ledger->heap[0].target > value)
        return false;
    *ret = ledger->heap[0];
    ledger->heap[0] = ledger->heap[--ledger->marks];
    sink_mark(ledger, 0);
    return true;
}

void ledger_marks_drop(struct ledger *ledger, uint32_t coat_index)
{
    size_t kept = 0;
    for (size_t i = 0; i < ledger->marks; i++)
        if (ledger->heap[i].coat_index != coat_index)
            ledger->heap[kept++] = ledger->heap[i];
    ledger->marks = kept;
    for (size_t i = kept / 2; i-- > 0;)
        sink_mark(ledger, i);
}

/* Moments, not values, decide which marks are due, so that a mark and its coat never disagree by the last bit. Later targets are
 * never due sooner, which is what prunes the heap. */
static int64_t mark_due(const struct ledger *ledger, size_t i)
{
    int64_t due = ledger_tail_when(ledger, ledger->heap[i].target);
    return due == MOMENT_NONE ? INT64_MAX : due;
}

static void visit_marks(const struct ledger *ledger, size_t i, int64_t from_ms, int64_t to_ms,
                        void (*each)(const struct mark *, void *), void *context)
{
    if (i >= ledger->marks)
        return;
    int64_t due = mark_due(ledger, i);
    if (due > to_ms)
        return; /* all below it are later */
    if (due > from_ms)
        each(&ledger->heap[i], context);
    visit_marks(ledger, 2 * i + 1, from_ms, to_ms, each, context);
    visit_marks(ledger, 2 * i + 2, from_ms, to_ms, each, context);
}

void ledger_marks_due(const struct ledger *ledger, int64_t from_ms, int64_t to_ms, void (*each)(const struct mark *, void *),
                      void *context)
{
    visit_marks(ledger, 0, from_ms, to_ms, each, context);
}

static int64_t least_after(const struct ledger *ledger, size_t i, int64_t at_ms)
{
    if (i >= ledger->marks)
        return INT64_MAX;
    int64_t due = mark_due(ledger, i);
    if (due > at_ms)
        return due; /* all below it are later still */
    int64_t left = least_after(ledger, 2 * i + 1, at_ms), right = least_after(ledger, 2 * i + 2, at_ms);
    return left < right ? left : right;
}

int64_t ledger_next_due(const struct ledger *ledger, int64_t at_ms)
{
    int64_t due = least_after(ledger, 0, at_ms);
    return due == INT64_MAX ? MOMENT_NONE : due;
}
