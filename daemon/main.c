/* coatd: keeps the cure record of a finishing shop. This file reads the arguments, opens the parts in order, and says what went wrong. */
#include "coat/clock.h"
#include "coat/result.h"
#include "coat/sense.h"
#include "coat/shop.h"
#include "daemon/ear.h"
#include "daemon/http/doc.h"
#include "daemon/http/server.h"
#include "daemon/loop.h"
#include "daemon/mouth.h"
#include "daemon/store/store.h"

#include <errno.h>
#include <getopt.h>
#include <limits.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#define EXIT_USAGE 2
#define DESCRIPTORS_WANTED 2048 /* connections, the store and some to spare */

static const char usage[] =
    "usage: coatd [--db FILE] [--listen ADDR:PORT] [--test-clock START[,RATE]]\n"
    "       coatd --sense SOURCE\n"
    "\n"
    "  --db FILE             the record; default $XDG_DATA_HOME/coatwright/shop.coat,\n"
    "                        else ~/.local/share/coatwright/shop.coat\n"
    "  --listen ADDR:PORT    default 127.0.0.1:8262; port 0 takes a free one\n"
    "  --test-clock START[,RATE]\n"
    "                        a clock of its own for tests and demos: begins at START\n"
    "                        (2026-11-28T08:00:00Z), stands still, or runs RATE times as fast\n"
    "  --sense SOURCE        reads a device of the kernel once, prints a line of JSON and ends:\n"
    "                        iio:NAME, hwmon:NAME/LABEL or w1:28-0123456789ab, looked for\n"
    "                        under /sys, or where COAT_SYSFS says\n"
    "  --version  --help\n";

struct options {
    char db[PATH_MAX];
    struct http_address address;
    struct coat_clock clock;
};

/* ---- arguments ---- */

static enum coat_result default_db(char *ret, size_t size, struct coat_error *error)
{
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    int length = -1;
    if (data != NULL && data[0] == '/')
        length = snprintf(ret, size, "%s/coatwright/shop.coat", data);
    else if (home != NULL && home[0] == '/')
        length = snprintf(ret, size, "%s/.local/share/coatwright/shop.coat", home);
    if (length < 0 || (size_t)length >= size)
        return coat_fail(error, COAT_BAD_FORM, "db", "neither XDG_DATA_HOME nor HOME tells where the record goes: use --db FILE");
    return COAT_OK;
}

static enum coat_result take_db(const char *text, struct options *options, struct coat_error *error)
{
    if (text[0] == '\0' || strlen(text) >= sizeof options->db)
        return coat_fail(error, COAT_BAD_FORM, "db", "--db wants the name of a file");
    snprintf(options->db, sizeof options->db, "%s", text);
    return COAT_OK;
}

/* Prints to stdout and ends; asked for, so exit 0. */
static void print_and_exit(const char *text)
{
    (void)fputs(text, stdout);
    exit(fflush(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE);
}

/* Reads a device and ends. The service does this in a child, since a device may hang. */
static void sense_and_exit(const char *source)
{
    const char *root = getenv("COAT_SYSFS");
    exit(sense_device_main(root != NULL && root[0] == '/' ? root : "/sys", source));
}

/* `argument` is the one that getopt last looked at. */
static enum coat_result take_option(int option, const char *argument, struct options *options, struct coat_error *error)
{
    switch (option) {
    case 'd': return take_db(optarg, options, error);
    case 'l': return http_address_parse(optarg, &options->address, error);
    case 'c': return clock_test_parse(optarg, &options->clock, error);
    case 's': sense_and_exit(optarg); break;
    case 'v': print_and_exit("coatd " COAT_VERSION "\n"); break;
    case 'h': print_and_exit(usage); break;
    case ':': return coat_fail(error, COAT_BAD_FORM, "", "%.60s wants a value: see coatd --help", argument);
    default: break;
    }
    return coat_fail(error, COAT_BAD_FORM, "", "there is no option %.60s: see coatd --help", argument);
}

static enum coat_result read_options(int argc, char **argv, struct options *ret, struct coat_error *error)
{
    static const struct option known[] = {
        {"db", required_argument, NULL, 'd'}, {"listen", required_argument, NULL, 'l'},
        {"test-clock", required_argument, NULL, 'c'}, {"sense", required_argument, NULL, 's'}, {"version", no_argument, NULL, 'v'},
        {"help", no_argument, NULL, 'h'}, {NULL, 0, NULL, 0},
    };
    enum coat_result result = COAT_OK;
    *ret = (struct options){.address = {.port = 8262}, .clock = clock_wall()};
    opterr = 0; /* we say it ourselves */
    for (int option = 0; result == COAT_OK && (option = getopt_long(argc, argv, ":", known, NULL)) != -1;)
        result = take_option(option, argv[optind - 1], ret, error);
    if (result == COAT_OK && optind < argc)
        result = coat_fail(error, COAT_BAD_FORM, "", "\"%.60s\" is not understood: see coatd --help", argv[optind]);
    if (result == COAT_OK && ret->db[0] == '\0')
        result = default_db(ret->db, sizeof ret->db, error);
    return result;
}

/* ---- start and end ---- */

static void raise_descriptors(void)
{
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= DESCRIPTORS_WANTED)
        return;
    limit.rlim_cur = limit.rlim_max < DESCRIPTORS_WANTED ? limit.rlim_max : DESCRIPTORS_WANTED;
    (void)setrlimit(RLIMIT_NOFILE, &limit);
}

/* The protocol of sd_notify(3): one datagram to the socket that the service manager named. */
static void notify_manager(const char *state)
{
    const char *path = getenv("NOTIFY_SOCKET");
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    if (path == NULL || (path[0] != '/' && path[0] != '@') || strlen(path) >= sizeof address.sun_path)
        return;
    memcpy(address.sun_path, path, strlen(path));
    if (path[0] == '@') /* abstract */
        address.sun_path[0] = '\0';
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (fd < 0)
        return;
    (void)sendto(fd, state, strlen(state), MSG_NOSIGNAL, (struct sockaddr *)&address,
                 (socklen_t)(offsetof(struct sockaddr_un, sun_path) + strlen(path)));
    close(fd);
}

static const char *db_path; /* for the ready line alone */

static char own_path[PATH_MAX];

/* Where this program lies, for the children that are this program again. */
static void find_own_path(void)
{
    ssize_t length = readlink("/proc/self/exe", own_path, sizeof own_path - 1);
    own_path[length > 0 ? length : 0] = '\0';
}

static void tell_ready(const struct http_context *context)
{
    printf("coatd: ready on %s (file %s)\n", context->origin, db_path);
    (void)fflush(stdout);
    notify_manager("READY=1");
}

static enum coat_result serve(const struct options *options, struct http_address address, int listen_fd, struct shop *shop, struct coat_error *error)
{
    struct coat_clock clock = options->clock;
    struct http_context context = {.shop = shop, .clock = &clock};
    struct http_server *server = NULL;
    struct ear *ear = NULL;
    struct mouth *mouth = NULL;
    shop_use_zone(shop, doc_zone_offset_ms);
    enum coat_result result = http_server_open(&context, address, listen_fd, &server, error);
    if (result != COAT_OK)
        return result;
    result = ear_open(&context, own_path, &ear, error);
    if (result == COAT_OK)
        result = mouth_open(&context, own_path, &mouth, error);
    if (result == COAT_OK)
        result = loop_run(&context, ear, mouth, tell_ready, error);
    notify_manager("STOPPING=1");
    mouth_close(mouth);
    ear_close(ear);
    http_server_close(server);
    return result;
}

static enum coat_result open_shop(const struct options *options, struct shop **ret, struct coat_error *error)
{
    struct store *store = NULL;
    int64_t now_ms = clock_shop_ms(&options->clock);
    enum coat_result result = store_open(options->db, now_ms, &store, error);
    if (result == COAT_OK)
        result = shop_open(store, now_ms, ret, error);
    if (result != COAT_OK)
        store_close(store); /* the shop takes it over only when it opens */
    return result;
}

/* The port is taken first: a service that cannot be reached must not touch the file. */
static enum coat_result run(const struct options *options, struct coat_error *error)
{
    struct http_address address = options->address;
    struct shop *shop = NULL;
    int listen_fd = -1;
    enum coat_result result = http_listen(&address, &listen_fd, error);
    if (result != COAT_OK)
        return result;
    result = open_shop(options, &shop, error);
    if (result != COAT_OK) {
        close(listen_fd);
        return result;
    }
    result = serve(options, address, listen_fd, shop, error);
    shop_close(shop);
    return result;
}

static void complain(const struct coat_error *error, enum coat_result result)
{
    fprintf(stderr, "coatd: %s\n", error->text[0] != '\0' ? error->text : coat_result_text(result));
}

int main(int argc, char **argv)
{
    struct options options;
    struct coat_error error = {0};
    umask(077); /* the record is the shop's own */
    find_own_path();
    loop_take_signals();
    enum coat_result result = read_options(argc, argv, &options, &error);
    if (result != COAT_OK) {
        complain(&error, result);
        return EXIT_USAGE;
    }
    raise_descriptors();
    db_path = options.db;
    result = run(&options, &error);
    if (result != COAT_OK)
        complain(&error, result);
    return result == COAT_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
