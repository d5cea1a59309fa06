/* demo-shed: the two instruments of the demo's shed, simulated. One publishes its air to a broker, the other posts it to the service with its
 * token. The air is that of air.awk, with the same invented figures; between full hours its small unrest is a straight line. */
#include <arpa/inet.h>
#include <curl/curl.h>
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <mosquitto.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define EXIT_USAGE 2
#define PUBLISH_EVERY_S 3
#define POST_EVERY_S 10
#define POST_LIMIT_S 5L
#define TURN_MS 500
#define KEEPALIVE_S 30
#define TOKEN_SIZE 256
#define BODY_SIZE 64
#define DAY_S 86400.0
#define HOUR_S 3600.0
/* The gauge hangs at the outer wall. */
#define WALL_COLDER_C 0.3
#define WALL_DAMPER_PCT 1.0

struct air {
    double temp_c, rh_pct;
};

struct shed {
    double began_s, zone_s; /* as air.awk has them */
    double at_s;            /* tell the air of this moment and end; NaN: no */
    const char *topic, *url, *token_file;
    int broker_port;        /* 0: no broker */
    struct mosquitto *client;
    CURL *post;
    struct curl_slist *headers;
    time_t publish_at, post_at;
    bool post_failed;       /* and that was told */
};

static volatile sig_atomic_t ended;

static void end(int number)
{
    (void)number;
    ended = 1;
}

/* ---- the air: see air.awk ---- */

static double hash(double n)
{
    double x = sin(n * 12.9898 + 4.1414) * 43758.5453;
    return x - floor(x);
}

/* -0.5 to 0.5; at full hours that of air.awk. */
static double unrest(double hours, double shift)
{
    double hour = floor(hours), share = hours - hour;
    return hash(hour + shift) * (1 - share) + hash(hour + 1 + shift) * share - 0.5;
}

static double bump(double x)
{
    return exp(-x * x);
}

static double kept(double x, double least, double most)
{
    return fmin(fmax(x, least), most);
}

static double front(double day)
{
    double x = (day + 6.5) / 13;
    return bump((x - floor(x + 0.5)) * 13 / 1.1);
}

static double heater(double hour)
{
    if (hour >= 17 && hour < 22)
        return 3.2 * (1 - exp(-(hour - 17) / 0.8));
    return 3.2 * exp(-fmod(hour + 24 - 22, 24) / 2.2);
}

static double damp(double local_days)
{
    double night = floor(local_days - 0.6);
    return hash(night) > 0.55 ? 13 * bump((local_days - night - 1.2) / 0.16) : 0;
}

static struct air shed_air(const struct shed *shed, double at_s)
{
    double day = (at_s - shed->began_s) / DAY_S, local_s = at_s + shed->zone_s;
    double hour = fmod(local_s, DAY_S) / HOUR_S;
    bool fresh = day > -1.5 && day < 0.1; /* what the shop's fresh coats need to be where the demo wants them */
    double temp_c = 16.9 + 0.8 * sin(day / 1.7) + 1.5 * cos((hour - 15) * 2 * M_PI / 24) + heater(hour) - 6.5 * front(day) +
                    0.4 * unrest(at_s / HOUR_S, 0);
    double rh_pct = 61 - 2.4 * (temp_c - 17) + damp(local_s / DAY_S) + 4 * front(day) + 3 * unrest(at_s / HOUR_S, 0.5);
    return (struct air){fresh ? kept(temp_c, 15.6, 40) : temp_c, kept(rh_pct, 35, fresh ? 78 : 92)};
}

static int write_air(struct air air, char *ret_text)
{
    return snprintf(ret_text, BODY_SIZE, "{\"temp_c\": %.2f, \"rh_pct\": %.2f}", air.temp_c, air.rh_pct);
}

/* ---- the one that publishes ---- */

static bool open_broker(struct shed *shed)
{
    if (shed->broker_port == 0)
        return true;
    shed->client = mosquitto_new(NULL, true, NULL);
    if (shed->client == NULL)
        return false;
    (void)mosquitto_connect(shed->client, "127.0.0.1", shed->broker_port, KEEPALIVE_S); /* if not now, the loop tries again */
    return true;
}

/* Not retained: what a later listener got would be old, and says no time of its own. */
static void publish(struct shed *shed, time_t now)
{
    char text[BODY_SIZE];
    if (shed->client == NULL || now < shed->publish_at)
        return;
    shed->publish_at = now + PUBLISH_EVERY_S;
    int length = write_air(shed_air(shed, (double)now), text);
    (void)mosquitto_publish(shed->client, NULL, shed->topic, length, text, 0, false);
}

static void wait_a_turn(struct shed *shed)
{
    const struct timespec turn = {.tv_nsec = TURN_MS * 1000000L};
    if (shed->client != NULL && mosquitto_loop(shed->client, TURN_MS, 1) == MOSQ_ERR_SUCCESS)
        return;
    (void)nanosleep(&turn, NULL); /* a signal ends it early */
    if (shed->client != NULL && ended == 0)
        (void)mosquitto_reconnect(shed->client);
}

/* ---- the one that posts ---- */

/* Its first line. A token that others can read is none. */
static bool read_token(const char *path, char *ret_token)
{
    struct stat status;
    FILE *file = fopen(path, "re");
    bool read = file != NULL && fstat(fileno(file), &status) == 0;
    bool hidden = read && (status.st_mode & 077) == 0;
    bool line = hidden && fgets(ret_token, TOKEN_SIZE, file) != NULL;
    if (!read)
        fprintf(stderr, "demo-shed: %s cannot be read: %s\n", path, strerror(errno));
    else if (!hidden)
        fprintf(stderr, "demo-shed: others can read %s: chmod 600 makes it a secret\n", path);
    else if (!line)
        fprintf(stderr, "demo-shed: there is no token in %s\n", path);
    if (line)
        ret_token[strcspn(ret_token, "\r\n")] = '\0';
    if (file != NULL)
        (void)fclose(file);
    return line;
}

static bool add_header(struct shed *shed, const char *line)
{
    struct curl_slist *longer = curl_slist_append(shed->headers, line);
    if (longer != NULL)
        shed->headers = longer;
    return longer != NULL;
}

static size_t ignore(char *data, size_t size, size_t count, void *context)
{
    (void)data;
    (void)context;
    return size * count;
}

static void set_up_post(struct shed *shed)
{
    curl_easy_setopt(shed->post, CURLOPT_URL, shed->url);
    curl_easy_setopt(shed->post, CURLOPT_PROXY, "");
    curl_easy_setopt(shed->post, CURLOPT_HTTPHEADER, shed->headers);
    curl_easy_setopt(shed->post, CURLOPT_TIMEOUT, POST_LIMIT_S);
    curl_easy_setopt(shed->post, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(shed->post, CURLOPT_WRITEFUNCTION, ignore);
}

static bool open_post(struct shed *shed)
{
    char token[TOKEN_SIZE], line[TOKEN_SIZE + 32];
    if (shed->url == NULL)
        return true;
    if (!read_token(shed->token_file, token))
        return false;
    snprintf(line, sizeof line, "Authorization: Bearer %s", token);
    shed->post = curl_easy_init();
    if (shed->post == NULL || !add_header(shed, line) || !add_header(shed, "Content-Type: application/json"))
        return false;
    set_up_post(shed);
    return true;
}

static void tell_failure(struct shed *shed, CURLcode code, long status)
{
    bool failed = code != CURLE_OK || status != 200, told = shed->post_failed;
    shed->post_failed = failed;
    if (!failed || told)
        return;
    if (code != CURLE_OK)
        fprintf(stderr, "demo-shed: a reading did not get there: %s\n", curl_easy_strerror(code));
    else
        fprintf(stderr, "demo-shed: a reading was not taken: HTTP %ld\n", status);
}

static void post(struct shed *shed, time_t now)
{
    char text[BODY_SIZE];
    long status = 0;
    if (shed->post == NULL || now < shed->post_at)
        return;
    shed->post_at = now + POST_EVERY_S;
    struct air air = shed_air(shed, (double)now);
    (void)write_air((struct air){air.temp_c - WALL_COLDER_C, air.rh_pct + WALL_DAMPER_PCT}, text);
    curl_easy_setopt(shed->post, CURLOPT_POSTFIELDS, text);
    CURLcode code = curl_easy_perform(shed->post);
    curl_easy_getinfo(shed->post, CURLINFO_RESPONSE_CODE, &status);
    tell_failure(shed, code, status);
}

/* ---- run ---- */

/* One that is free now; the broker cannot choose one itself. */
static int print_free_port(void)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof address;
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (fd < 0 || bind(fd, (struct sockaddr *)&address, size) != 0 || getsockname(fd, (struct sockaddr *)&address, &size) != 0) {
        fprintf(stderr, "demo-shed: no port is free: %s\n", strerror(errno));
        return EXIT_FAILURE; /* the descriptor goes with the process */
    }
    printf("%u\n", (unsigned)ntohs(address.sin_port));
    (void)close(fd);
    return EXIT_SUCCESS;
}

static int print_air(const struct shed *shed)
{
    char text[BODY_SIZE];
    (void)write_air(shed_air(shed, shed->at_s), text);
    return puts(text) >= 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

static void listen_for_the_end(void)
{
    struct sigaction action = {.sa_handler = end};
    (void)sigaction(SIGTERM, &action, NULL);
    (void)sigaction(SIGINT, &action, NULL);
    (void)signal(SIGPIPE, SIG_IGN);
}

static int run(struct shed *shed)
{
    listen_for_the_end();
    (void)mosquitto_lib_init();
    (void)curl_global_init(CURL_GLOBAL_DEFAULT);
    bool open = open_broker(shed) && open_post(shed);
    while (open && ended == 0) {
        publish(shed, time(NULL));
        post(shed, time(NULL));
        wait_a_turn(shed);
    }
    mosquitto_destroy(shed->client); /* takes NULL, as do the next two */
    curl_easy_cleanup(shed->post);
    curl_slist_free_all(shed->headers);
    curl_global_cleanup();
    (void)mosquitto_lib_cleanup();
    return open ? EXIT_SUCCESS : EXIT_FAILURE;
}

static const char usage[] =
    "usage: demo-shed --began S --zone S [--broker-port PORT --topic TOPIC] [--url URL --token-file FILE]\n"
    "       demo-shed --began S --zone S --at S\n"
    "       demo-shed --free-port\n"
    "\n"
    "The instruments of the demo's shed, for demo/demo.sh: one publishes to TOPIC of the\n"
    "broker at 127.0.0.1, one posts to URL with the token in FILE (mode 600). S are\n"
    "seconds, as in demo/air.awk. --at prints the air of a moment.\n";

static const struct option options[] = {
    {"began", required_argument, NULL, 'b'}, {"zone", required_argument, NULL, 'z'}, {"broker-port", required_argument, NULL, 'p'},
    {"topic", required_argument, NULL, 't'}, {"url", required_argument, NULL, 'u'}, {"token-file", required_argument, NULL, 'f'},
    {"at", required_argument, NULL, 'a'}, {"free-port", no_argument, NULL, 'F'}, {0},
};

static double read_seconds(const char *text)
{
    char *rest = NULL;
    double seconds = strtod(text, &rest);
    return rest != text && *rest == '\0' && fabs(seconds) < 1e11 ? seconds : (double)NAN;
}

static bool take_option(struct shed *shed, int option)
{
    switch (option) {
    case 'b': shed->began_s = read_seconds(optarg); return isfinite(shed->began_s);
    case 'z': shed->zone_s = read_seconds(optarg); return isfinite(shed->zone_s);
    case 'a': shed->at_s = read_seconds(optarg); return isfinite(shed->at_s);
    case 'p': shed->broker_port = atoi(optarg); return shed->broker_port > 0 && shed->broker_port <= 65535;
    case 't': shed->topic = optarg; return true;
    case 'u': shed->url = optarg; return true;
    case 'f': shed->token_file = optarg; return true;
    default: return false;
    }
}

static bool is_complete(const struct shed *shed)
{
    bool publishes = shed->broker_port > 0 && shed->topic != NULL, posts = shed->url != NULL && shed->token_file != NULL;
    bool halves = (shed->broker_port > 0) != (shed->topic != NULL) || (shed->url != NULL) != (shed->token_file != NULL);
    return isfinite(shed->began_s) && isfinite(shed->zone_s) && !halves && (publishes || posts || isfinite(shed->at_s));
}

int main(int argc, char **argv)
{
    struct shed shed = {.began_s = (double)NAN, .zone_s = (double)NAN, .at_s = (double)NAN};
    bool understood = true;
    int option = 0;
    if (argc == 2 && strcmp(argv[1], "--free-port") == 0)
        return print_free_port();
    while (understood && (option = getopt_long(argc, argv, "", options, NULL)) != -1)
        understood = take_option(&shed, option);
    if (!understood || optind != argc || !is_complete(&shed)) {
        (void)fputs(usage, stderr);
        return EXIT_USAGE;
    }
    return isfinite(shed.at_s) ? print_air(&shed) : run(&shed);
}
