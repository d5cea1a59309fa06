/* A list of notices to be sent, as the shop would keep it, and channels that are shell scripts: what they are told they write into a folder of the test. */
#ifndef COAT_TESTS_SCENE_H
#define COAT_TESTS_SCENE_H

#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <errno.h>
#include <ftw.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>
#include <cmocka.h>

#include "coat/clock.h"
#include "coat/notify.h"

#define SCENE_TRIES_MAX 4096
#define SCENE_NOTICES_MAX 1024
#define SCENE_CHANNELS_MAX 8
#define PATIENCE_MS 30000 /* for whatever comes soon, on a busy machine */

struct scene_try {
    int64_t channel_id, notice_id, at_ms;
    bool delivered;
    char answer[TRY_ANSWER_SIZE];
};

static struct scene {
    struct notify *notify;
    char folder[256];
    struct channel channels[SCENE_CHANNELS_MAX];
    size_t channel_count;
    int64_t notices[SCENE_NOTICES_MAX]; /* told, oldest first */
    size_t notice_count;
    bool delivered[SCENE_CHANNELS_MAX + 1][SCENE_NOTICES_MAX + 1]; /* by ids */
    bool forgets;                       /* a delivery cannot be recorded: the disk is full */
    struct scene_try tries[SCENE_TRIES_MAX];
    size_t try_count;
    size_t asked;                       /* how often what is pending was asked for */
} scene;

/* ---- the shop's side ---- */

static size_t scene_pending(void *context, int64_t channel_id, int64_t *ids, size_t most)
{
    size_t count = 0;
    assert_ptr_equal(context, &scene);
    scene.asked++;
    for (size_t i = 0; i < scene.notice_count && count < most; i++)
        if (!scene.delivered[channel_id][scene.notices[i]])
            ids[count++] = scene.notices[i];
    return count;
}

static bool scene_message(void *context, int64_t channel_id, int64_t notice_id, struct notify_message *ret)
{
    static char id[64], json[128], subject[64];
    assert_ptr_equal(context, &scene);
    assert_true(channel_id > 0);
    snprintf(id, sizeof id, "notice-%lld@5c0a7", (long long)notice_id);
    snprintf(json, sizeof json, "{\"id\":%lld,\"subject\":\"mill\"}", (long long)notice_id);
    snprintf(subject, sizeof subject, "Mill housing %lld: may be done now", (long long)notice_id);
    *ret = (struct notify_message){.notice_id = notice_id, .id = id, .kind = "window-opens", .subject = subject, .text = "It is open.\nThe label decides.\n",
                                   .json = json, .safety = notice_id == 9};
    return true;
}

static void scene_tried(void *context, int64_t channel_id, int64_t notice_id, bool delivered, const char *answer)
{
    assert_ptr_equal(context, &scene);
    assert_true(scene.try_count < SCENE_TRIES_MAX);
    struct scene_try *entry = &scene.tries[scene.try_count++];
    *entry = (struct scene_try){.channel_id = channel_id, .notice_id = notice_id, .delivered = delivered, .at_ms = clock_real_ms()};
    snprintf(entry->answer, sizeof entry->answer, "%s", answer);
    if (delivered && !scene.forgets)
        scene.delivered[channel_id][notice_id] = true;
}

static inline void tell(int64_t notice_id)
{
    scene.notices[scene.notice_count++] = notice_id;
    notify_wake(scene.notify);
}

/* ---- channels ---- */

/* `script` is for sh; $D is the folder of the test. */
static inline struct channel scripted(int64_t id, const char *script)
{
    struct channel channel = {.id = id, .kind = CHANNEL_COMMAND, .removed_at = MOMENT_NONE, .added_at = 1};
    snprintf(channel.name, sizeof channel.name, "bell %lld", (long long)id);
    int length = snprintf(channel.target, sizeof channel.target, "[\"/bin/sh\",\"-c\",\"D=%s; %s\"]", scene.folder, script);
    assert_true(length < (int)sizeof channel.target);
    return channel;
}

static inline void set_channels(void)
{
    assert_int_equal(notify_set(scene.notify, scene.channels, scene.channel_count), COAT_OK);
}

static inline void use(struct channel channel)
{
    scene.channels[scene.channel_count++] = channel;
    set_channels();
}

/* ---- time ---- */

/* One turn as the loop would take it. No turn may be long. */
static inline void take_turn(int64_t wait_at_most_ms)
{
    int64_t wait_ms = notify_next_ms(scene.notify) - clock_real_ms();
    struct pollfd watched = {.fd = notify_descriptor(scene.notify), .events = POLLIN};
    (void)poll(&watched, 1, (int)(wait_ms < 0 ? 0 : wait_ms < wait_at_most_ms ? wait_ms : wait_at_most_ms));
    int64_t begin_ms = clock_real_ms();
    notify_turn(scene.notify);
    assert_true(clock_real_ms() - begin_ms < 2000);
}

static inline void wait_for_tries(size_t count)
{
    int64_t end_ms = clock_real_ms() + PATIENCE_MS;
    while (scene.try_count < count) {
        if (clock_real_ms() > end_ms)
            fail_msg("%zu tries, not %zu", scene.try_count, count);
        take_turn(1000);
    }
}

static inline void let_pass(int64_t ms)
{
    int64_t end_ms = clock_real_ms() + ms;
    for (int64_t left_ms = ms; left_ms > 0; left_ms = end_ms - clock_real_ms())
        take_turn(left_ms);
}

/* What a script wrote. */
static inline const char *written(const char *name)
{
    static char text[65536];
    char path[512];
    snprintf(path, sizeof path, "%s/%s", scene.folder, name);
    FILE *file = fopen(path, "r");
    size_t length = file != NULL ? fread(text, 1, sizeof text - 1, file) : 0;
    text[length] = '\0';
    if (file != NULL)
        assert_int_equal(fclose(file), 0);
    return text;
}

static inline void says(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", text, part);
}

/* ---- begin and end ---- */

static inline void open_scene(const char *courier, int64_t wait_ms)
{
    const struct notify_options options = {.courier = courier, .wait_ms = wait_ms};
    const struct notify_calls calls = {&scene, scene_pending, scene_message, scene_tried};
    struct coat_error error = {0};
    const char *tmp = getenv("TMPDIR");
    scene = (struct scene){0};
    snprintf(scene.folder, sizeof scene.folder, "%.200s/coat-notify-XXXXXX", tmp != NULL && tmp[0] == '/' ? tmp : "/tmp");
    assert_non_null(mkdtemp(scene.folder));
    if (notify_open(&options, &calls, &scene.notify, &error) != COAT_OK)
        fail_msg("%s", error.text);
}

static inline int remove_entry(const char *path, const struct stat *info, int kind, struct FTW *where)
{
    (void)info, (void)kind, (void)where;
    return remove(path);
}

static inline void close_scene(void)
{
    notify_close(scene.notify);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* no child is left, dead or alive */
    assert_int_equal(errno, ECHILD);
    (void)nftw(scene.folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

#endif
