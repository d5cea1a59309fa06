/* The service itself, started on a file: what it keeps in memory once it has answered. */
#include "tests/bench/bench.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

/* Returns its pid, once it has said on which port it is ready. */
static pid_t start(const char *coatd, const char *file, unsigned *ret_port)
{
    int said[2];
    char line[512];
    MUST(pipe(said) == 0);
    pid_t pid = fork();
    MUST(pid >= 0);
    if (pid == 0) {
        prctl(PR_SET_PDEATHSIG, SIGTERM); /* whatever becomes of the bench */
        dup2(said[1], STDOUT_FILENO);
        close(said[0]);
        close(said[1]);
        execl(coatd, coatd, "--db", file, "--listen", "127.0.0.1:0", (char *)NULL);
        _exit(127);
    }
    close(said[1]);
    FILE *lines = fdopen(said[0], "r");
    MUST(lines != NULL && fgets(line, sizeof line, lines) != NULL);
    MUST(sscanf(line, "coatd: ready on http://127.0.0.1:%u", ret_port) == 1);
    fclose(lines);
    return pid;
}

/* Asks for all that the page shows, and reads it to the end. */
static void ask(unsigned port)
{
    char buffer[4096], request[128];
    size_t got = 0;
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    int length = snprintf(request, sizeof request, "GET /api/v1/shop HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n\r\n", port);
    int s = socket(AF_INET, SOCK_STREAM, 0);
    MUST(s >= 0 && connect(s, (struct sockaddr *)&to, sizeof to) == 0);
    MUST(write(s, request, (size_t)length) == length);
    for (ssize_t n; (n = read(s, buffer, sizeof buffer)) > 0; got += (size_t)n)
        MUST(got > 0 || strncmp(buffer, "HTTP/1.1 200", 12) == 0);
    MUST(got > 0);
    close(s);
}

static double resident_kb(pid_t pid)
{
    char path[64], line[256];
    double kb = 0.0;
    snprintf(path, sizeof path, "/proc/%d/status", (int)pid);
    FILE *status = fopen(path, "r");
    MUST(status != NULL);
    while (fgets(line, sizeof line, status) != NULL)
        if (sscanf(line, "VmRSS: %lf", &kb) == 1)
            break;
    fclose(status);
    MUST(kb > 0.0);
    return kb;
}

static double measure(const struct bench *bench, const char *file)
{
    unsigned port = 0;
    int status;
    pid_t pid = start(bench->coatd, file, &port);
    ask(port);
    double kb = resident_kb(pid);
    kill(pid, SIGTERM);
    MUST(waitpid(pid, &status, 0) == pid && WIFEXITED(status) && WEXITSTATUS(status) == 0);
    return kb;
}

struct bench_pair bench_memory(const struct bench *bench)
{
    char year[320], empty[320];
    double ours[3], beside[3];
    bench_year_file(bench, year);
    for (int i = 0; i < 3; i++) {
        snprintf(empty, sizeof empty, "%s/empty%d.coat", bench->folder, i);
        ours[i] = measure(bench, year);
        beside[i] = measure(bench, empty);
    }
    return (struct bench_pair){median(ours, 3), median(beside, 3)};
}
