#include "daemon/http/channel_in.h"

#include "coat/notify.h"

#include <stdio.h>
#include <string.h>

#define ARGV_MOST 32
#define SIGNING_KEY_LEAST 16 /* characters: what one person makes up for the key of a webhook must not be guessed */

/* ---- what each kind is told ---- */

enum { TARGET = 1, ARGV = 2, USER = 4, SECRET = 8, ADDRESSES = 16, CA = 32, MADE_SECRET = 64 };

static const unsigned taken_by[] = {
    [CHANNEL_COMMAND] = ARGV,
    [CHANNEL_WEBHOOK] = TARGET | SECRET | CA | MADE_SECRET,
    [CHANNEL_MAIL] = TARGET | USER | SECRET | ADDRESSES | CA,
    [CHANNEL_MQTT] = TARGET | USER | SECRET | CA,
    [CHANNEL_CALENDAR] = MADE_SECRET,
};
_Static_assert(sizeof taken_by / sizeof *taken_by == CHANNEL_KIND_COUNT, "one row a kind");

static const struct {
    const char *name;
    unsigned group;
} members[] = {
    {"target", TARGET}, {"argv", ARGV}, {"user", USER}, {"secret", SECRET}, {"from", ADDRESSES}, {"to", ADDRESSES},
    {"ca_file", CA}, {"new_secret", MADE_SECRET},
};

static void refuse_foreign(struct json_in *in, enum channel_kind kind)
{
    for (size_t i = 0; i < sizeof members / sizeof *members; i++) {
        if ((taken_by[kind] & members[i].group) == 0 && json_in_has(in, members[i].name))
            json_in_fail(in, members[i].name, "a channel of the kind %s has no %s: leave it out", channel_kind_word(kind), members[i].name);
    }
}

/* ---- members ---- */

/* Addresses are made by putting a path behind it. */
static void read_link(struct json_in *in, struct channel *channel)
{
    char *link = channel->link;
    if (!json_in_string(in, "link", JSON_NULLABLE, link, sizeof channel->link) || link[0] == '\0')
        return;
    size_t length = strlen(link);
    size_t scheme = strncmp(link, "https://", 8) == 0 ? 8 : strncmp(link, "http://", 7) == 0 ? 7 : 0;
    bool bare = strpbrk(link, "?#\\\" <>\n\t") == NULL;
    if (scheme == 0 || length == scheme || link[scheme] == '/' || !bare)
        json_in_fail(in, "link", "\"%.80s\" is no address of this service: write https://shop.example:8262, as it is reached from there", link);
    while (length > 0 && link[length - 1] == '/')
        link[--length] = '\0';
}

static bool is_address(const char *text)
{
    const char *at = strchr(text, '@');
    return at != NULL && at != text && at[1] != '\0' && strchr(at + 1, '@') == NULL && strpbrk(text, " ,;<>\n\t\"") == NULL;
}

static void read_address(struct json_in *in, const char *member, enum json_need need, char *ret, size_t size)
{
    if (json_in_string(in, member, need, ret, size) && !is_address(ret))
        json_in_fail(in, member, "\"%.80s\" is no mail address: write one, name@host.example, without a name beside it", ret);
}

/* Whom the mail is from is whom the server knows, where that is an address. */
static void read_addresses(struct json_in *in, enum json_need need, struct channel *channel)
{
    read_address(in, "to", need, channel->to, sizeof channel->to);
    read_address(in, "from", JSON_OPTIONAL, channel->from, sizeof channel->from);
    if (channel->from[0] != '\0' || json_in_failed(in))
        return;
    if (is_address(channel->user))
        snprintf(channel->from, sizeof channel->from, "%s", channel->user);
    else
        json_in_fail(in, "from", "from is missing, and user is no address to take in its place: write whom the mail is from, name@host.example");
}

/* A password goes to the server that it was told for, and to no other. */
static void read_password(struct json_in *in, const char *old_target, struct channel *channel)
{
    bool same = work_same_server(old_target, channel->target);
    if (!same && channel->secret[0] != '\0' && !json_in_has(in, "secret"))
        json_in_fail(in, "secret", "the server is another one: tell the password for it, or null where it wants none");
    json_in_string(in, "secret", JSON_NULLABLE, channel->secret, sizeof channel->secret);
}

static void read_signing_key(struct json_in *in, struct channel *channel)
{
    if (json_in_string(in, "secret", JSON_OPTIONAL, channel->secret, sizeof channel->secret) && strlen(channel->secret) < SIGNING_KEY_LEAST)
        json_in_fail(in, "secret", "it is too short to sign with: at least %d characters, or leave it out and one is made", SIGNING_KEY_LEAST);
}

static void read_members(struct work *work, enum json_need need, struct channel *channel)
{
    struct json_in *in = &work->in;
    unsigned taken = taken_by[channel->kind];
    char old_target[CHANNEL_TARGET_SIZE];
    memcpy(old_target, channel->target, sizeof old_target);
    refuse_foreign(in, channel->kind);
    read_link(in, channel);
    if ((taken & TARGET) != 0)
        json_in_string(in, "target", need, channel->target, sizeof channel->target);
    if ((taken & ARGV) != 0)
        work_words(in, "argv", need, ARGV_MOST, channel->target, sizeof channel->target);
    if ((taken & USER) != 0)
        json_in_string(in, "user", JSON_NULLABLE, channel->user, sizeof channel->user);
    if ((taken & USER) != 0)
        read_password(in, old_target, channel);
    else if ((taken & SECRET) != 0)
        read_signing_key(in, channel);
    if ((taken & ADDRESSES) != 0)
        read_addresses(in, need, channel);
    if ((taken & CA) != 0)
        json_in_string(in, "ca_file", JSON_NULLABLE, channel->ca_file, sizeof channel->ca_file);
}

/* ---- secrets that the service makes ---- */

/* Of a webhook the key itself is kept, since it signs; of a calendar its hash, since it is only shown. */
static void make_secret(struct work *work, struct channel *channel)
{
    char hash[TOKEN_HASH_SIZE];
    if (json_in_failed(&work->in))
        return;
    if (!token_make(work->token, hash))
        (void)coat_fail(&work->error, COAT_NO_MEMORY, "", "no random bytes for a key are to be had now: try again");
    else
        snprintf(channel->secret, sizeof channel->secret, "%s", channel->kind == CHANNEL_CALENDAR ? hash : work->token);
}

static void renew_secret(struct work *work, struct channel *channel)
{
    bool renew = false;
    if ((taken_by[channel->kind] & MADE_SECRET) == 0 || !json_in_bool(&work->in, "new_secret", JSON_OPTIONAL, &renew) || !renew)
        return;
    if (json_in_has(&work->in, "secret"))
        json_in_fail(&work->in, "new_secret", "a key is told in secret already: leave one of the two out");
    make_secret(work, channel);
}

/* ---- the whole ---- */

void channel_in_new(struct work *work, bool only_tried, struct channel *ret)
{
    struct json_in *in = &work->in;
    *ret = (struct channel){.added_at = work->now_ms, .removed_at = MOMENT_NONE};
    work_name(in, "name", only_tried ? JSON_OPTIONAL : JSON_REQUIRED, ret->name, sizeof ret->name);
    if (!json_in_channel_kind(in, "kind", JSON_REQUIRED, &ret->kind))
        return;
    read_members(work, JSON_REQUIRED, ret);
    if ((taken_by[ret->kind] & MADE_SECRET) != 0 && json_in_has(in, "new_secret"))
        json_in_fail(in, "new_secret", "a new channel has no old key: leave it out");
    if ((taken_by[ret->kind] & MADE_SECRET) != 0 && ret->secret[0] == '\0' && !only_tried) /* nobody could verify what is signed with a key that nobody is told */
        make_secret(work, ret);
}

void channel_in_change(struct work *work, struct channel *io_channel)
{
    work_name(&work->in, "name", JSON_OPTIONAL, io_channel->name, sizeof io_channel->name);
    read_members(work, JSON_OPTIONAL, io_channel);
    renew_secret(work, io_channel);
}

enum coat_result channel_in_check(struct work *work, const struct channel *channel)
{
    if (channel->kind == CHANNEL_CALENDAR)
        return COAT_OK;
    return channel_in_named(work, channel, notify_check(channel, &work->error));
}

enum coat_result channel_in_named(struct work *work, const struct channel *channel, enum coat_result result)
{
    if (result != COAT_OK && channel->kind == CHANNEL_COMMAND && strcmp(work->error.field, "target") == 0)
        snprintf(work->error.field, sizeof work->error.field, "argv");
    return result;
}
