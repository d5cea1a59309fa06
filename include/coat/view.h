/* How far a coat is and how the air of a place stands, as plain values: what the shop works out, what the API tells, and what phrase.h puts into words. */
#ifndef COAT_VIEW_H
#define COAT_VIEW_H

#include "coat/material.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stdint.h>

struct moment_band {
    bool passed;            /* it has happened: all three are that moment */
    int64_t earliest_at;    /* MOMENT_NONE in any of the three: not in the air it has (stalled, unknown) */
    int64_t likely_at;      /* openings: what "about" is; closings: earliest is what is told */
    int64_t latest_at;
    int64_t label_floor_at;   /* MOMENT_NONE for closings and where there is none */
    int64_t label_ceiling_at; /* MOMENT_NONE for openings and where there is none */
};

struct span_view {
    enum span_do does;
    bool ends;              /* false: the last span, has no end */
    struct moment_band until;
};

struct stage_view {
    enum stage stage;
    enum state state;
    enum stall stall;       /* STALL_NONE unless waiting and held up */
    int64_t stalled_since_at; /* MOMENT_NONE where it is not, or since longer than a day */
    double progress;        /* 0 to 1 toward the end of the span that now is in; NAN where that has none */
    double progress_per_h;  /* now; 0 while it stalls */
    unsigned spans, current;/* current: index of the span that now is in */
    struct span_view span[MATERIAL_BOUNDARIES_MAX + 1];
    double measured_h, assumed_h; /* hours of air behind the progress */
    bool assumed;           /* the air it rests on now is assumed */
    bool disputed;          /* its figures are: read the can */
    bool no_window;         /* the closing of a go span comes before its opening in this air */
    bool prepared;          /* sanded in time: what it had to be scuffed or wiped for may be done */
};

struct air_view {
    bool known;
    int64_t at;             /* of the last reading at or before now */
    double temp_c, rh_pct, dew_point_c;
    enum air_basis rh_basis;/* of the humidity alone: a thermometer tells none, and openings then count on damp air */
    enum air_basis basis;   /* assumed: the last reading is older than its hold; temp and rh are then what openings count on */
    int64_t assumed_from_at;/* MOMENT_NONE while measured; else since when. While measured: when it will become assumed is at + hold */
};

#endif
