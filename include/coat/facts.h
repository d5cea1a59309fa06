/* The facts of a shop, as plain values: what was put on, what was measured, what was told. Everything else (progress, states,
 * forecasts) is computed from these and is stored nowhere. All moments are milliseconds since the epoch, UTC; MOMENT_NONE
 * where not given. Numbers that may be missing are NAN. Text is UTF-8, NUL-terminated, never NULL. Ids are above 0; 0 is "none". */
#ifndef COAT_FACTS_H
#define COAT_FACTS_H

#include "coat/history.h"
#include "coat/material.h"
#include "coat/moment.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stdint.h>

#define NAME_SIZE 64   /* of a piece, place, rack: at most 63 bytes */
#define AREA_SIZE 32
#define AREAS_MAX 12
#define NOTE_SIZE 512
#define ZONE_SIZE 64
#define RACK_PIECES_MAX 64

struct shop_settings {
    char zone[ZONE_SIZE];            /* IANA name, "Europe/Vienna"; "UTC" at first */
    enum units_system units;
    int32_t lead_closing_min;        /* how long before a window closes "closing" begins; 60 at first */
    int32_t quiet_from_min, quiet_to_min; /* minutes after local midnight; equal: no quiet hours */
    int32_t work_from_min, work_to_min;   /* working hours, likewise */
    int32_t morning_min;             /* when the list of the day is told, minutes after local midnight; MORNING_NONE: never */
};
#define MORNING_NONE (-1)

struct place {
    int64_t id;
    char name[NAME_SIZE];
    enum place_kind kind;
    double volume_m3;                /* NAN where nobody measured it */
    double airflow_m3h;              /* NAN likewise */
    bool airflow_measured;           /* that airflow was measured; else it counts half */
    enum answer low_exhaust;         /* the exhaust draws from low down, where vapour lies; unanswered counts as no */
    enum answer risk[PLACE_RISK_COUNT];
    int64_t added_at;
    int64_t removed_at;              /* MOMENT_NONE while it is in use; a removed one keeps its record */
};

struct piece {
    int64_t id;
    char name[NAME_SIZE];
    enum old_finish old_finish;
    unsigned areas;
    char area[AREAS_MAX][AREA_SIZE]; /* front, back, rim … where that matters */
    double mass_kg, wall_mm;         /* NAN where not known */
    char note[NOTE_SIZE];
    int64_t added_at;
    int64_t removed_at;
};

/* What was seen or done, at a moment. Never changed: one that was wrong is followed by the next. */
struct piece_note {
    int64_t id;
    int64_t piece_id;
    char text[NOTE_SIZE];
    int64_t at;
    int64_t entered_at;
};

/* A photo of a piece, without its bytes: those stay in the store. */
#define PHOTO_TYPE_SIZE 16
struct photo {
    int64_t id;                      /* never used again */
    int64_t piece_id;
    char type[PHOTO_TYPE_SIZE];      /* "image/jpeg", "image/png" */
    int64_t width, height;           /* pixels as stored; JPEG may say that it is to be turned */
    int64_t length;                  /* bytes */
    char note[NOTE_SIZE];
    int64_t entered_at;
};

struct rack { /* pieces that are always done together */
    int64_t id;
    char name[NAME_SIZE];
    unsigned pieces;
    int64_t piece_id[RACK_PIECES_MAX];
    int64_t added_at;
    int64_t removed_at;
};

struct move {
    int64_t id;
    int64_t piece_id;
    int64_t place_id;
    int64_t at;                      /* it hangs there from this moment */
    int64_t entered_at;
};

/* One version of a material; immutable once stored. */
struct material_version {
    int64_t id;                      /* of the version */
    int64_t material_id;
    int32_t version;                 /* 1, 2, … */
    int64_t entered_at;
    struct material material;
};

/* One entry of a coat. A coat is its number; amending it adds an entry, the newest counts, the old ones stay. */
struct coat {
    int64_t id;                      /* the coat's number */
    int32_t entry;                   /* 1, 2, … */
    int64_t entered_at;
    int64_t piece_id;
    char area[AREA_SIZE];            /* empty: the whole piece */
    int64_t material_version_id;
    int64_t tin_id;                  /* 0 where not told */
    enum role role;
    enum application application;
    int64_t first_at, last_at;       /* first and last pass; equal for a single moment */
    int32_t passes;
    enum film film;                  /* as told; counts where neither thickness is given */
    double wet_um, dry_um;           /* NAN where not measured */
    double amount_ml;                /* NAN */
    double thinned_pct;              /* NAN */
    char thinner[NAME_SIZE];
    char note[NOTE_SIZE];
    /* voided entries stay in the record */
    int64_t struck_at;               /* MOMENT_NONE while it counts */
    char struck_why[NOTE_SIZE];
};

/* A test at the bench: a finger, paper or thumb on the coat, and what it said of a stage. */
struct bench_test {
    int64_t id;
    int64_t coat_id;
    enum stage stage;
    bool passed;
    int64_t at;
    int64_t entered_at;
};

struct tin { /* one container of a material */
    int64_t id;
    int64_t material_id;
    char name[NAME_SIZE];            /* what is written on it in the shop: "black 2" */
    char batch[NAME_SIZE];           /* the maker's batch as printed; may be empty */
    int64_t opened_at;               /* MOMENT_NONE while shut or not known */
    int64_t keep_by_at;              /* MOMENT_NONE where it prints none */
    int64_t added_at;
    int64_t removed_at;              /* MOMENT_NONE while it is in use; an empty one keeps its record */
};

struct mix { /* a batch of a two-part material */
    int64_t id;
    int64_t material_version_id;
    int64_t place_id;                /* where it stands; its air shortens the pot life; 0: not told */
    int64_t mixed_at;
    int64_t entered_at;
};

/* A source of air. Entering by hand is one like any other. Of the sensors of a place the first healthy one counts for each quantity; they
 * are never averaged. */
#define SENSOR_SOURCE_SIZE 512
#define SENSOR_POINTER_SIZE 64
#define SENSOR_SECRET_SIZE 128
struct sensor {
    int64_t id;
    int64_t place_id;
    char name[NAME_SIZE];            /* unique among those in use, compared without case */
    enum sensor_kind kind;
    int32_t position;                /* 0, 1, … in its place: the lower one counts first; by hand comes last */
    int32_t interval_s;              /* usual time between two readings; for those that are asked, how often; 0: not told, then learned */
    int32_t hold_s;                  /* H, see coat/history.h: sensor_hold_s() of the interval told or learned */
    bool measures[AIR_QUANTITY_COUNT];
    /* Where from. sysfs: "iio:NAME", "hwmon:NAME" or "w1:28-0000…", see coat/sense.h; mqtt: "mqtt://host[:1883]/topic" or "mqtts://…"; command: a JSON
     * array of the program and its arguments; else empty. */
    char source[SENSOR_SOURCE_SIZE];
    char pointer[AIR_QUANTITY_COUNT][SENSOR_POINTER_SIZE]; /* JSON pointer (RFC 6901) into what it says; empty: all of it is the number */
    enum temp_scale temp_scale;
    enum rh_scale rh_scale;
    char user[NAME_SIZE];            /* of a broker; empty: none */
    char secret[SENSOR_SECRET_SIZE]; /* mqtt: the password; push: hex SHA-256 of the token. Never told again */
    char ca_file[SENSOR_SOURCE_SIZE];/* of a broker with TLS: file of the authorities to trust; empty: the system's */
    int64_t added_at;
    int64_t removed_at;              /* MOMENT_NONE while it is in use; the readings of a removed one stay */
};

/* What a salt test or a reference instrument says a sensor should read. From from_at on, offset is added to what it reads; the newest
 * one that began counts. */
struct adjustment {
    int64_t id;
    int64_t sensor_id;
    enum air_quantity quantity;
    double reads, should;            /* C or % */
    double offset;                   /* should - what it read unadjusted */
    int64_t from_at;
    int64_t entered_at;
};

/* The heater of a place is on, because somebody is there. The newest entry that covers a moment counts; one with until_at = from_at says
 * that it was switched off then. */
struct heating {
    int64_t id;
    int64_t place_id;
    int64_t from_at, until_at;
    int64_t entered_at;
};

/* A reading that does not count, and why. It stays in the record. */
struct suspect {
    int64_t sensor_id;
    int64_t at;                      /* as the sensor told it */
    int64_t received_at;
    int32_t temp_mc, rh_mp;          /* as received, READING_NONE where it told none */
    enum judgement judgement;
};

struct sanding {
    int64_t id;
    int64_t coat_id;
    int64_t at;
    int64_t entered_at;
};

/* Open solvent that was used in a place beside coats: gun wash, wiping down. Never changed. */
struct solvent_release {
    int64_t id;
    int64_t place_id;
    char what[SOLVENT_MIX_TEXT_SIZE]; /* as solvent_mix_parse reads it: "toluene=60%, acetone=40%", or "lacquer thinner" */
    double amount_ml;
    int64_t at;
    int64_t entered_at;
};

struct stripping {
    int64_t id;
    int64_t piece_id;
    char area[AREA_SIZE];            /* empty: all of it */
    int64_t down_to_coat_id;         /* this coat and those under it stay; 0: to the iron */
    int64_t at;
    int64_t entered_at;
};

/* A load in an oven: from the review before it to its end. One that was begun is never changed but for its end. */
struct bake {
    int64_t id;                      /* its number */
    int64_t place_id;                /* the oven */
    enum oven_air oven_air;
    bool reviewed;                   /* false: it was done without a review, and logged afterwards */
    double retained_pct;             /* of the solvent put on, what goes into the oven; NAN: the cautious default */
    double room_c;                   /* of the room that it is put in from and cools in; NAN: as read there, else 20 C */
    char note[NOTE_SIZE];
    int64_t entered_at;
    int64_t started_at;              /* MOMENT_NONE: under review */
    int64_t ended_at;                /* out of the oven, or the heat off; MOMENT_NONE: not yet. Without a start: the review was given up */
};

struct bake_part {                   /* one coat that is baked, on its piece */
    int64_t id;
    int64_t bake_id;
    int64_t coat_id;
    enum metal metal;
    double mass_kg, area_m2, wall_mm; /* NAN where not known; see struct bake_body */
    int64_t probe_id;                /* the sensor on the metal; 0: none */
};

struct bake_hold {                   /* one step of its programme, see struct bake_step */
    int64_t id;
    int64_t bake_id;
    int32_t number;                  /* 0, 1, … */
    double target_c, ramp_min, hold_min;
};

/* An answer of the review; the newest of each thing counts. Never changed. */
#define BAKE_ABOUT_SIZE 32
struct bake_answer {
    int64_t id;
    int64_t bake_id;
    char about[BAKE_ABOUT_SIZE];     /* word of an enum bake_item, or of an enum bake_ruin that may be on the piece */
    enum answer answer;
    int64_t at;
};

/* The service did not run while an oven was hot that nobody reads: what that did meanwhile is not known. */
struct bake_gap {
    int64_t id;
    int64_t bake_id;
    int64_t from_at;                 /* the last moment that it is known to have run */
    int64_t to_at;                   /* when a person said that it goes on; MOMENT_NONE: nobody has yet */
};

/* A shop's own lead for one material, in place of lead_closing_min. */
struct material_lead {
    int64_t material_id;
    int32_t lead_closing_min;
};

/* Where notices go. What is told from added_at on goes there, once each at least. */
#define CHANNEL_TARGET_SIZE 512
#define CHANNEL_SECRET_SIZE 128
#define CHANNEL_ADDRESS_SIZE 256
struct channel {
    int64_t id;
    char name[NAME_SIZE];            /* unique among those in use, compared without case */
    enum channel_kind kind;          /* never changes */
    /* command: a JSON array of the program and its arguments; webhook: an https or http address; mail: "smtps://host[:465]" or "smtp://host[:587]"
     * (which must offer TLS, but on loopback); mqtt: "mqtt(s)://host[:port]/topic"; calendar: empty. */
    char target[CHANNEL_TARGET_SIZE];
    char user[NAME_SIZE];            /* of a mail server or broker; empty: none */
    /* webhook: the key it signs with; mail, mqtt: the password; calendar: hex SHA-256 of the key in its link. Told once at most. */
    char secret[CHANNEL_SECRET_SIZE];
    char from[CHANNEL_ADDRESS_SIZE], to[CHANNEL_ADDRESS_SIZE]; /* mail */
    char link[CHANNEL_TARGET_SIZE];  /* "https://shop.example:8262": how this service is reached from there; empty: as it knows itself */
    char ca_file[CHANNEL_TARGET_SIZE]; /* file of the authorities to trust; empty: the system's */
    int64_t added_at;
    int64_t removed_at;              /* MOMENT_NONE while it is in use */
};

/* One try to send a notice over a channel; never changed. */
#define TRY_ANSWER_SIZE 320
struct delivery_try {
    int64_t id;
    int64_t notice_id;               /* the one that stands for its group */
    int64_t channel_id;
    int64_t at;
    bool delivered;
    char answer[TRY_ANSWER_SIZE];    /* what the other side said, or why there is no answer */
};

/* A notice is a fact before it is sent anywhere. (coat, mix, place, sensor, bake, stage, boundary, kind, turn) is unique: raised once. `turn` grows when a
 * correction took an earlier one back and it became true again. One of no coat has no stage and boundary: they say nothing. */
struct notice {
    int64_t id;
    enum notice_kind kind;
    int64_t coat_id;                 /* 0 where it is not about a coat */
    int64_t mix_id;                  /* 0 where it is not about a mix */
    int64_t place_id;                /* 0 where it is not about the air of a place as such */
    int64_t sensor_id;               /* 0 where it is not about a sensor */
    int64_t bake_id;                 /* 0 where it is not about a bake; `boundary` is then an enum bake_moment */
    enum stage stage;
    int32_t boundary;                /* index of the boundary of the stage */
    int32_t turn;
    int64_t due_at;                  /* the moment it is about */
    int64_t until_at;                /* end of what it announces, as known when raised; MOMENT_NONE */
    bool assumed;                    /* rests on assumed air: "test first" */
    int64_t raised_at;
    int64_t withdrawn_at;            /* a later fact showed it to be early, its coat was covered, stripped or struck, or what it says is over */
    int64_t acknowledged_at;
    /* Pieces that were done together are told together: the first of them stands for the group, to which others may come until it is told. People
     * see, send and acknowledge the group by the number of that first one. */
    int64_t group_id;                /* of the one that stands for it; its own id where that is itself */
    int64_t told_at;                 /* of that one: put out to the channels; MOMENT_NONE: held back (quiet hours), or gathering, or another stands for it */
    char text[NOTE_SIZE];            /* one or two sentences, of this one alone */
};

#endif
