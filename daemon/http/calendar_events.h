/* What stands in the calendar, before it is written: which moments of which coats, and which of them are one. */
#ifndef COAT_CALENDAR_EVENTS_H
#define COAT_CALENDAR_EVENTS_H

#include "daemon/http/doc.h"

#define CALENDAR_EVENTS_MAX 4000
#define CALENDAR_PAST_MS (7 * MS_PER_DAY)    /* what is over longer is of no use in a calendar */
#define CALENDAR_AHEAD_MS (366 * MS_PER_DAY)
#define CALENDAR_TOGETHER_MS (10 * MS_PER_MIN)

/* An opening and a closing are events of their own: each moves by itself, alarms of its own go with it, and a window without an end would be an event
 * without one. */
enum calendar_kind {
    CALENDAR_OPENS,   /* told by its latest moment: not before */
    CALENDAR_CLOSES,  /* told by its earliest */
    CALENDAR_REACHED, /* a stage without ends; like an opening */
};

struct calendar_event {
    enum calendar_kind kind;
    int64_t coat_id, piece_id, version_id;
    int64_t last_pass_at;
    enum stage stage;
    unsigned boundary;
    enum span_do before, then; /* what to do up to the moment, and from it on */
    int64_t at, ends_at;       /* ends_at: of what it opens, if that is known; MOMENT_NONE */
    bool passed, assumed, disputed;
    size_t group;              /* index of the event that it is one with; its own where it is the first */
};

struct calendar_events {
    size_t count, capacity;
    struct calendar_event *item; /* those of a group stand together, the lowest coat first */
};

/* Of all coats that are on. Free with calendar_events_free. */
COAT_CHECKED enum coat_result calendar_events_make(struct doc *doc, struct calendar_events *ret);
void calendar_events_free(struct calendar_events *events);

#endif
