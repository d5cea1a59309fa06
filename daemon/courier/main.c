/* coat-courier: talks to other machines for coatd, one process a link, so that whatever hangs out there hangs here. See coat/courier.h. */
#include "coat/courier.h"
#include "daemon/courier/courier.h"
#include "daemon/courier/lines.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>

#define EXIT_USAGE 2

static const char usage[] =
    "usage: coat-courier [--connect PATH]\n"
    "\n"
    "Talks to other machines for coatd, which starts it by itself, with a socket on\n"
    "descriptor 3.\n"
    "\n"
    "  --connect PATH   takes its work from the unix socket PATH instead\n"
    "  --version  --help\n";

struct kind {
    const char *word; /* in the "open" line */
    bool (*run)(struct lines *lines, const cJSON *open);
};

static const struct kind kinds[] = {
    {"mqtt", mqtt_in_run},
    {"mqtt-out", mqtt_out_run},
    {"webhook", webhook_run},
    {"mail", mail_run},
};

static const struct kind *find_kind(const char *word)
{
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i].word, word) == 0)
            return &kinds[i];
    return NULL;
}

static int work(struct lines *lines)
{
    cJSON *open = lines_wait(lines);
    if (open == NULL)
        return EXIT_SUCCESS; /* nobody wants anything */
    const struct kind *kind = find_kind(lines_text(open, "open"));
    bool understood = kind != NULL && kind->run(lines, open);
    cJSON_Delete(open);
    if (!understood)
        fprintf(stderr, "coat-courier: the first line does not say what to do\n");
    return understood ? EXIT_SUCCESS : EXIT_FAILURE;
}

static int connect_to(const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (strlen(path) >= sizeof address.sun_path)
        errno = ENAMETOOLONG;
    else {
        memcpy(address.sun_path, path, strlen(path));
        if (fd >= 0 && connect(fd, (struct sockaddr *)&address, sizeof address) == 0)
            return fd;
    }
    fprintf(stderr, "coat-courier: cannot connect to %s: %s\n", path, strerror(errno));
    return -1; /* the descriptor goes with the process */
}

/* Descriptor 3, if it is a socket. */
static int inherited(void)
{
    struct stat status;
    if (fstat(COURIER_SOCKET_FD, &status) == 0 && S_ISSOCK(status.st_mode))
        return COURIER_SOCKET_FD;
    fprintf(stderr, "coat-courier: there is no socket on descriptor %d: coatd starts this program; see coat-courier --help\n", COURIER_SOCKET_FD);
    return -1;
}

/* A dump of this process would hold passwords. */
static void forbid_dumps(void)
{
    const struct rlimit none = {0};
    (void)setrlimit(RLIMIT_CORE, &none);
}

static int run(int fd)
{
    static struct lines lines; /* too large for a stack */
    if (fd < 0)
        return EXIT_FAILURE;
    lines.fd = fd;
    (void)fcntl(fd, F_SETFL, 0); /* it waits, whoever made it */
    forbid_dumps();
    (void)signal(SIGPIPE, SIG_IGN);
    return work(&lines);
}

static int print(const char *text)
{
    (void)fputs(text, stdout);
    return fflush(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

int main(int argc, char **argv)
{
    if (argc == 1)
        return run(inherited());
    if (argc == 3 && strcmp(argv[1], "--connect") == 0)
        return run(connect_to(argv[2]));
    if (argc == 2 && strcmp(argv[1], "--version") == 0)
        return print("coat-courier " COAT_VERSION "\n");
    if (argc == 2 && strcmp(argv[1], "--help") == 0)
        return print(usage);
    (void)fputs(usage, stderr);
    return EXIT_USAGE;
}
