#include "cli/air_file.h"

#include "cli/text.h"
#include "cli/when.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define PATH_SHOWN 80
#define VALUE_SHOWN 40
#define COLDEST_MC (-40000)
#define ROOM_HOTTEST_MC 60000
#define OVEN_HOTTEST_MC 300000
#define OLDEST_MS INT64_C(946684800000) /* 2000-01-01 */
#define OFFSET_MOST_H 14                /* no zone is further from UTC */
#define EPOCH_MS_FROM 1e11              /* a number from here on counts milliseconds: as seconds it would be the year 5138 */

/* ---- what is wrong, and where ---- */

__attribute__((format(printf, 4, 5))) static enum coat_result fail_row(const struct air_file *file, int column, struct coat_error *error,
                                                                       const char *format, ...)
{
    char what[sizeof error->text], where[sizeof file->name[0] + 16] = "";
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    if (column >= 0)
        snprintf(where, sizeof where, "column \"%s\": ", file->name[column]);
    return coat_fail(error, COAT_BAD_VALUE, "", "%.*s:%lu: %s%s", PATH_SHOWN, file->terms->path, file->csv.line, where, what);
}

/* ---- the header ---- */

#define TOKENS_MAX 12
#define TOKEN_SIZE 16
struct tokens {
    unsigned count;
    char token[TOKENS_MAX][TOKEN_SIZE];
};

static void add_letter(struct tokens *tokens, size_t *length, char letter)
{
    if (*length == 0 && tokens->count == TOKENS_MAX)
        return;
    if (*length == 0)
        tokens->count++;
    if (*length + 1 < TOKEN_SIZE)
        tokens->token[tokens->count - 1][(*length)++] = letter;
}

/* Words in lower case: "Temp (°F)" is "temp", "f". The single characters for degrees Celsius and Fahrenheit read as their letters. */
static struct tokens split(const char *name)
{
    struct tokens tokens = {0};
    size_t length = 0;
    for (; *name != '\0'; name++) {
        unsigned char byte = (unsigned char)*name;
        if (byte < 0x80 && isalnum(byte)) {
            add_letter(&tokens, &length, (char)tolower(byte));
            continue;
        }
        length = 0;
        if (strncmp(name, "\xe2\x84\x83", 3) == 0 || strncmp(name, "\xe2\x84\x89", 3) == 0) {
            add_letter(&tokens, &length, (unsigned char)name[2] == 0x83 ? 'c' : 'f');
            length = 0;
            name += 2;
        }
    }
    return tokens;
}

static bool has_word(const struct tokens *tokens, const char *const *words)
{
    for (unsigned i = 0; i < tokens->count; i++)
        for (const char *const *word = words; *word != NULL; word++) {
            size_t length = strlen(*word);
            bool start = (*word)[length - 1] == '*'; /* "temp*": any word that begins so */
            if (start ? strncmp(tokens->token[i], *word, length - 1) == 0 : strcmp(tokens->token[i], *word) == 0)
                return true;
        }
    return false;
}

static const char *const date_words[] = {"date*", NULL};
static const char *const time_words[] = {"time*", "datetime", "at", NULL};
static const char *const temp_words[] = {"temp*", "t", NULL};
static const char *const rh_words[] = {"rh", "hum*", NULL};
/* What is near the air's temperature and humidity, and is not it. */
static const char *const other_words[] = {"dew*", "wet*", "feels", "heat", "min*", "max*", "high*", "low*", "ratio", "abs*", "set*", "zone", NULL};

struct scale_word {
    const char *word;
    enum temp_scale scale;
};
static const struct scale_word scale_words[] = {
    {"c", TEMP_SCALE_C},   {"celsius", TEMP_SCALE_C},    {"degc", TEMP_SCALE_C}, {"f", TEMP_SCALE_F},        {"fahrenheit", TEMP_SCALE_F},
    {"degf", TEMP_SCALE_F}, {"k", TEMP_SCALE_K},         {"kelvin", TEMP_SCALE_K}, {"mc", TEMP_SCALE_MILLI_C},
};

static bool find_scale(const struct tokens *tokens, enum temp_scale *ret)
{
    for (unsigned i = 0; i < tokens->count; i++)
        for (size_t j = 0; j < sizeof scale_words / sizeof scale_words[0]; j++)
            if (strcmp(tokens->token[i], scale_words[j].word) == 0) {
                *ret = scale_words[j].scale;
                return true;
            }
    return false;
}

static bool is_column(enum air_column column, const char *name)
{
    struct tokens tokens = split(name);
    enum temp_scale scale;
    if (has_word(&tokens, other_words))
        return false;
    switch (column) {
    case AIR_COLUMN_DATE:
        return has_word(&tokens, date_words) && !has_word(&tokens, time_words);
    case AIR_COLUMN_TIME:
        return has_word(&tokens, time_words) || has_word(&tokens, date_words);
    case AIR_COLUMN_TEMP:
        return has_word(&tokens, temp_words) || (tokens.count == 1 && find_scale(&tokens, &scale));
    case AIR_COLUMN_RH:
        return has_word(&tokens, rh_words) || strcmp(name, "%") == 0;
    case AIR_COLUMN_COUNT:
        break;
    }
    return false;
}

static const char *const column_asks[AIR_COLUMN_COUNT] = {"--time", "--time", "--temp", "--humidity"};
static const char *const column_means[AIR_COLUMN_COUNT] = {"the date", "the time", "the temperature", "the humidity"};

static enum coat_result fail_column(const struct air_file *file, const char *what, struct coat_error *error)
{
    struct text names = {0};
    for (unsigned i = 0; i < file->csv.fields && names.length < 140; i++)
        text_join(&names, ", ", "%.40s", file->csv.field[i]);
    return fail_row(file, -1, error, "%s; the columns are: %.150s", what, names.data);
}

static enum coat_result find_named(struct air_file *file, enum air_column column, struct coat_error *error)
{
    const char *name = file->terms->column[column];
    char what[160];
    for (unsigned i = 0; i < file->csv.fields; i++)
        if (strcasecmp(file->csv.field[i], name) == 0) {
            file->column[column] = (int)i;
            return COAT_OK;
        }
    snprintf(what, sizeof what, "%s: no column is called \"%.40s\"", column_asks[column], name);
    return fail_column(file, what, error);
}

/* A date and a time may stand apart. */
static bool are_date_and_time(const struct air_file *file, unsigned one, unsigned other)
{
    struct tokens a = split(file->csv.field[one]), b = split(file->csv.field[other]);
    bool a_date = is_column(AIR_COLUMN_DATE, file->csv.field[one]), b_date = is_column(AIR_COLUMN_DATE, file->csv.field[other]);
    return a_date != b_date && !has_word(a_date ? &b : &a, date_words);
}

static enum coat_result find_by_words(struct air_file *file, enum air_column column, struct coat_error *error)
{
    char what[200];
    int found = AIR_COLUMN_NONE;
    for (unsigned i = 0; i < file->csv.fields; i++) {
        if (!is_column(column, file->csv.field[i]))
            continue;
        if (found == AIR_COLUMN_NONE) {
            found = (int)i;
            continue;
        }
        if (column == AIR_COLUMN_TIME && file->column[AIR_COLUMN_DATE] == AIR_COLUMN_NONE && are_date_and_time(file, (unsigned)found, i)) {
            bool first = is_column(AIR_COLUMN_DATE, file->csv.field[found]);
            file->column[AIR_COLUMN_DATE] = first ? found : (int)i;
            found = first ? (int)i : found;
            continue;
        }
        snprintf(what, sizeof what, "both \"%.40s\" and \"%.40s\" may be %s: choose with %s", file->csv.field[found], file->csv.field[i],
                 column_means[column], column_asks[column]);
        return fail_column(file, what, error);
    }
    file->column[column] = found;
    return COAT_OK;
}

static enum coat_result find_column(struct air_file *file, enum air_column column, struct coat_error *error)
{
    file->column[column] = AIR_COLUMN_NONE;
    enum coat_result result = file->terms->column[column] != NULL ? find_named(file, column, error) : find_by_words(file, column, error);
    if (result == COAT_OK && file->column[column] != AIR_COLUMN_NONE)
        snprintf(file->name[column], sizeof file->name[column], "%s", file->csv.field[file->column[column]]);
    return result;
}

static enum coat_result find_columns(struct air_file *file, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    file->column[AIR_COLUMN_DATE] = AIR_COLUMN_NONE;
    for (unsigned i = AIR_COLUMN_TIME; i < AIR_COLUMN_COUNT && result == COAT_OK; i++)
        result = find_column(file, i, error);
    if (result != COAT_OK)
        return result;
    if (file->column[AIR_COLUMN_TIME] == AIR_COLUMN_NONE)
        return fail_column(file, "no column is the time: name it with --time", error);
    /* Humidity alone tells next to nothing, so that is imported only where a person asks for it by name. */
    if (file->column[AIR_COLUMN_TEMP] == AIR_COLUMN_NONE && file->terms->column[AIR_COLUMN_RH] == NULL)
        return fail_column(file, "no column is the temperature: name it with --temp", error);
    return COAT_OK;
}

/* Units may stand in the header, be told, or both if they agree. */
static enum coat_result find_units(struct air_file *file, struct coat_error *error)
{
    struct tokens temp = split(file->name[AIR_COLUMN_TEMP]), rh = split(file->name[AIR_COLUMN_RH]);
    bool named = find_scale(&temp, &file->scale);
    file->rh_factor = has_word(&rh, (const char *const[]){"fraction", "share", NULL}) ? 100.0 : 1.0;
    if (named && file->terms->units_told && file->scale != file->terms->units)
        return fail_row(file, AIR_COLUMN_TEMP, error, "the header says %s, and --units %s: leave --units out, or name the column another way",
                        temp_scale_word(file->scale), temp_scale_word(file->terms->units));
    if (file->terms->units_told)
        file->scale = file->terms->units;
    file->scale_known = named || file->terms->units_told;
    file->scale_line = 1;
    return COAT_OK;
}

/* What stands behind UTC: "+01:00", "-0530", " +5"; whatever else does is no offset. False where no clock goes so. */
static bool read_offset(const char *text, int64_t *ret_ms)
{
    const char *digits = text + strspn(text, " ");
    char sign = *digits;
    size_t count = sign == '+' || sign == '-' ? strspn(++digits, "0123456789") : 0;
    if (count == 0) {
        *ret_ms = 0;
        return true;
    }
    if (count > 4)
        return false;
    long number = strtol(digits, NULL, 10), hours = count > 2 ? number / 100 : number, minutes = count > 2 ? number % 100 : 0;
    if (count <= 2 && digits[count] == ':')
        minutes = strtol(digits + count + 1, NULL, 10);
    if (hours > OFFSET_MOST_H || minutes < 0 || minutes > 59)
        return false;
    *ret_ms = (sign == '-' ? -1 : 1) * (hours * MS_PER_H + minutes * MS_PER_MIN);
    return true;
}

/* "Time (UTC)", "Date Time, GMT+01:00". */
static enum coat_result find_zone(struct air_file *file, struct coat_error *error)
{
    const char *name = file->name[AIR_COLUMN_TIME];
    file->zone = file->terms->zone == AIR_ZONE_UTC ? AIR_ZONE_UTC : AIR_ZONE_LOCAL;
    if (file->terms->zone != AIR_ZONE_FILE)
        return COAT_OK;
    const char *zone = strcasestr(name, "utc");
    zone = zone != NULL ? zone : strcasestr(name, "gmt");
    if (zone == NULL)
        return COAT_OK;
    file->zone = AIR_ZONE_UTC;
    if (!read_offset(zone + strlen("utc"), &file->offset_ms))
        return fail_row(file, AIR_COLUMN_TIME, error, "no clock is so far from UTC: write the hours as in UTC+05:30, or say --zone");
    return COAT_OK;
}

enum coat_result air_file_open(struct air_file *file, const struct air_file_terms *terms, struct coat_error *error)
{
    struct coat_error inner = {0};
    *file = (struct air_file){.terms = terms, .at_ms = MOMENT_NONE, .before_ms = MOMENT_NONE};
    file->summary.first_ms = file->summary.last_ms = MOMENT_NONE;
    file->file = fopen(terms->path, "re");
    if (file->file == NULL)
        return coat_fail(error, COAT_NOT_FOUND, "", "%.*s cannot be read: %s", PATH_SHOWN, terms->path, strerror(errno));
    if (csv_open(&file->csv, file->file, &inner) != COAT_OK)
        return coat_fail(error, COAT_BAD_FORM, "", "%.*s:%lu: %s", PATH_SHOWN, terms->path, file->csv.line, inner.text);
    file->header_fields = file->csv.fields;
    enum coat_result result = find_columns(file, error);
    if (result == COAT_OK)
        result = find_units(file, error);
    return result == COAT_OK ? find_zone(file, error) : result;
}

void air_file_close(struct air_file *file)
{
    if (file->file != NULL)
        (void)fclose(file->file);
    file->file = NULL;
}

/* ---- times ---- */

static bool is_plain_number(const char *text)
{
    return text[0] != '\0' && strspn(text, "0123456789.") == strlen(text) && strchr(text, '.') == strrchr(text, '.');
}

/* "2026-11-28 14:30", with or without seconds, "/" or "." for "-": what a wall clock showed, counted as if it were UTC. */
static bool read_wall_clock(const char *text, int64_t *ret_ms)
{
    char whole[48];
    size_t length = strlen(text);
    if (length < 16 || length > 28 || (text[10] != ' ' && text[10] != 'T'))
        return false;
    snprintf(whole, sizeof whole, "%.28s%sZ", text, length == 16 ? ":00" : "");
    if (whole[4] == whole[7] && (whole[4] == '/' || whole[4] == '.'))
        whole[4] = whole[7] = '-';
    return moment_parse(whole, ret_ms, NULL) == COAT_OK;
}

/* Of two moments that a wall clock shows alike the one that goes on in the file's direction. */
static int64_t choose_moment(const struct air_file *file, const int64_t moment[2])
{
    bool backwards = file->before_ms != MOMENT_NONE && file->at_ms < file->before_ms;
    if (file->at_ms == MOMENT_NONE)
        return moment[0];
    if (backwards)
        return moment[1] < file->at_ms ? moment[1] : moment[0];
    return moment[0] > file->at_ms ? moment[0] : moment[1];
}

static enum coat_result from_wall_clock(struct air_file *file, const char *text, int64_t local_ms, int64_t *ret_ms, struct coat_error *error)
{
    int64_t moment[2] = {local_ms - file->offset_ms, 0};
    int count = file->zone == AIR_ZONE_UTC ? 1 : when_moments_of_local(local_ms, moment);
    if (count == 0)
        return fail_row(file, AIR_COLUMN_TIME, error, "\"%.*s\" was left out when the clocks went forward: where the instrument kept UTC, write "
                        "--zone UTC", VALUE_SHOWN, text);
    file->summary.twice += count == 2;
    *ret_ms = count == 2 ? choose_moment(file, moment) : moment[0];
    return COAT_OK;
}

static enum coat_result read_moment(struct air_file *file, const char *text, int64_t *ret_ms, struct coat_error *error)
{
    int64_t local_ms = 0;
    if (is_plain_number(text) && strlen(text) < 20) {
        double number = strtod(text, NULL);
        *ret_ms = llround(number < EPOCH_MS_FROM ? number * 1e3 : number);
        return COAT_OK;
    }
    if (moment_parse(text, ret_ms, NULL) == COAT_OK)
        return COAT_OK;
    if (read_wall_clock(text, &local_ms))
        return from_wall_clock(file, text, local_ms, ret_ms, error);
    return fail_row(file, AIR_COLUMN_TIME, error, "\"%.*s\" is no time: write \"2026-11-28 14:30\", RFC 3339, or seconds since 1970",
                    VALUE_SHOWN, text);
}

static const char *cell(const struct air_file *file, enum air_column column)
{
    int index = file->column[column];
    return index >= 0 && (unsigned)index < file->csv.fields ? file->csv.field[index] : "";
}

static enum coat_result read_time(struct air_file *file, int64_t *ret_ms, struct coat_error *error)
{
    char joined[2 * VALUE_SHOWN + 2], now[MOMENT_TEXT_SIZE];
    const char *text = cell(file, AIR_COLUMN_TIME);
    if (file->column[AIR_COLUMN_DATE] != AIR_COLUMN_NONE) {
        snprintf(joined, sizeof joined, "%.*s %.*s", VALUE_SHOWN, cell(file, AIR_COLUMN_DATE), VALUE_SHOWN, text);
        text = joined;
    }
    if (text[0] == '\0')
        return fail_row(file, AIR_COLUMN_TIME, error, "the time is missing: a reading needs one");
    enum coat_result result = read_moment(file, text, ret_ms, error);
    if (result != COAT_OK)
        return result;
    if (*ret_ms > file->terms->now_ms + MS_PER_MIN)
        return fail_row(file, AIR_COLUMN_TIME, error, "\"%.*s\" lies in the future (it is %s): look at the zone, --zone UTC or local", VALUE_SHOWN,
                        text, moment_print(file->terms->now_ms, now));
    if (*ret_ms < OLDEST_MS)
        return fail_row(file, AIR_COLUMN_TIME, error, "\"%.*s\" lies before 2000: the instrument's clock was not set", VALUE_SHOWN, text);
    return COAT_OK;
}

/* ---- values ---- */

/* A number and what stands behind it. A decimal comma will do where columns are not separated by commas. */
static bool read_number(const struct air_file *file, const char *text, double *ret, const char **ret_unit)
{
    char plain[VALUE_SHOWN];
    size_t used = 0, digits = 0;
    bool point = false;
    for (; used + 1 < sizeof plain; text++, used++) {
        bool is_point = *text == '.' || (*text == ',' && file->csv.separator != ',');
        if (!(isdigit((unsigned char)*text) || (used == 0 && (*text == '-' || *text == '+')) || (is_point && !point)))
            break;
        digits += isdigit((unsigned char)*text) != 0;
        point = point || is_point;
        plain[used] = is_point ? '.' : *text;
    }
    plain[used] = '\0';
    *ret = strtod(plain, NULL);
    *ret_unit = text + strspn(text, " ");
    return digits > 0;
}

static enum coat_result fail_number(const struct air_file *file, enum air_column column, const char *text, struct coat_error *error)
{
    return fail_row(file, (int)column, error, "\"%.*s\" is no number: write it like %s, or leave it empty where nothing was measured", VALUE_SHOWN, text,
                    file->csv.separator == ',' ? "18.2" : "18.2 or 18,2");
}

static double to_celsius(enum temp_scale scale, double value)
{
    switch (scale) {
    case TEMP_SCALE_C:
        return value;
    case TEMP_SCALE_F:
        return (value - 32.0) / 1.8;
    case TEMP_SCALE_K:
        return value - 273.15;
    case TEMP_SCALE_MILLI_C:
        return value / 1000.0;
    case TEMP_SCALE_COUNT:
        break;
    }
    return (double)NAN;
}

/* A value may carry its unit: the same in all of the column. */
static enum coat_result check_scale(struct air_file *file, const char *text, const char *unit, struct coat_error *error)
{
    struct tokens tokens = split(unit);
    enum temp_scale scale = file->scale;
    bool bare = unit[0] == '\0';
    if (!bare && (tokens.count != 1 || !find_scale(&tokens, &scale)))
        return fail_number(file, AIR_COLUMN_TEMP, text, error);
    if (bare && !file->scale_known)
        return fail_row(file, AIR_COLUMN_TEMP, error, "\"%.*s\" has no unit, and the header tells none: write --units C or --units F", VALUE_SHOWN, text);
    if (file->scale_known && ((bare && file->scale_line > 1) || scale != file->scale))
        return fail_row(file, AIR_COLUMN_TEMP, error, "\"%.*s\" is in another unit than line %lu (%s): one column has one unit", VALUE_SHOWN, text,
                        file->scale_line, temp_scale_word(file->scale));
    if (!file->scale_known) {
        file->scale = scale;
        file->scale_known = true;
        file->scale_line = file->csv.line;
    }
    return COAT_OK;
}

static enum coat_result read_temp(struct air_file *file, int32_t *ret_mc, struct coat_error *error)
{
    double value = 0.0;
    const char *unit = "", *text = cell(file, AIR_COLUMN_TEMP);
    if (text[0] == '\0')
        return COAT_OK;
    if (!read_number(file, text, &value, &unit))
        return fail_number(file, AIR_COLUMN_TEMP, text, error);
    enum coat_result result = check_scale(file, text, unit, error);
    if (result != COAT_OK)
        return result;
    double milli = to_celsius(file->scale, value) * 1000.0;
    int32_t hottest_mc = file->terms->place_kind == PLACE_OVEN ? OVEN_HOTTEST_MC : ROOM_HOTTEST_MC;
    if (milli < COLDEST_MC || milli > hottest_mc)
        return fail_row(file, AIR_COLUMN_TEMP, error, "\"%.*s\", %.1f C, is no air of this %s: -40 to %d C will do; look at the unit, or empty what the "
                        "instrument got wrong", VALUE_SHOWN, text, milli / 1000.0, place_kind_word(file->terms->place_kind), hottest_mc / 1000);
    *ret_mc = (int32_t)lround(milli);
    return COAT_OK;
}

static enum coat_result read_rh(struct air_file *file, int32_t *ret_mp, struct coat_error *error)
{
    double value = 0.0;
    const char *unit = "", *text = cell(file, AIR_COLUMN_RH);
    if (text[0] == '\0')
        return COAT_OK;
    if (!read_number(file, text, &value, &unit) || (unit[0] != '\0' && strcmp(unit, "%") != 0))
        return fail_number(file, AIR_COLUMN_RH, text, error);
    double milli = value * file->rh_factor * 1000.0;
    if (milli < 0.0 || milli > JUDGE_RH_WET_MP)
        return fail_row(file, AIR_COLUMN_RH, error, "\"%.*s\", %.10g %%, is no humidity: 0 to 100 %% will do; empty what the instrument got wrong",
                        VALUE_SHOWN, text, milli / 1000.0);
    *ret_mp = milli > JUDGE_RH_FULL_MP ? JUDGE_RH_FULL_MP : (int32_t)lround(milli);
    return COAT_OK;
}

/* ---- rows ---- */

/* Decimal commas between commas tear values in two: such a row has too many columns. */
static enum coat_result check_width(const struct air_file *file, struct coat_error *error)
{
    for (unsigned i = file->header_fields; i < file->csv.fields; i++)
        if (file->csv.field[i][0] != '\0')
            return fail_row(file, -1, error, "it has %u columns where the header has %u: a decimal comma wants quotes around it, or semicolons "
                            "between columns", file->csv.fields, file->header_fields);
    return COAT_OK;
}

/* Half a column in one unit and half in another: a step that only another unit explains. */
static enum coat_result check_step(struct air_file *file, const struct reading *reading, struct coat_error *error)
{
    static const enum air_column column[AIR_QUANTITY_COUNT] = {AIR_COLUMN_TEMP, AIR_COLUMN_RH};
    bool hot = file->terms->place_kind == PLACE_OVEN || file->terms->place_kind == PLACE_CABINET;
    const struct judge_terms terms = {.may_be_hot = hot};
    struct judged judged;
    judge_reading(&file->judge, &terms, reading, reading->at_ms, &judged);
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        const char *text = cell(file, column[q]);
        if (text[0] == '\0')
            continue;
        if (judged.verdict[q] == JUDGE_WRONG_UNIT && file->told[q] && !(q == AIR_TEMP && file->terms->units_told))
            return fail_row(file, (int)column[q], error, "\"%.*s\" seems to be in another unit than the rows before it: one column has one unit%s",
                            VALUE_SHOWN, text, q == AIR_TEMP ? "; if it has, say which with --units" : "");
        if (q == AIR_RH && judged.verdict[q] == JUDGE_IMPLAUSIBLE)
            return fail_row(file, AIR_COLUMN_RH, error, "\"%.*s\" is no %% of any room: for shares of 1 call the column \"rh fraction\"; empty what "
                            "the instrument got wrong", VALUE_SHOWN, text);
        file->told[q] = file->told[q] || judged.verdict[q] == JUDGE_GOOD;
    }
    return COAT_OK;
}

static void count_value(struct air_summary *summary, enum air_quantity quantity, int32_t value)
{
    if (value == READING_NONE)
        return;
    bool first = summary->measured[quantity]++ == 0;
    summary->low[quantity] = first || value < summary->low[quantity] ? value : summary->low[quantity];
    summary->high[quantity] = first || value > summary->high[quantity] ? value : summary->high[quantity];
}

static void count_reading(struct air_file *file, const struct reading *reading)
{
    struct air_summary *summary = &file->summary;
    bool first = summary->count++ == 0;
    summary->first_ms = first || reading->at_ms < summary->first_ms ? reading->at_ms : summary->first_ms;
    summary->last_ms = first || reading->at_ms > summary->last_ms ? reading->at_ms : summary->last_ms;
    count_value(summary, AIR_TEMP, reading->temp_mc);
    count_value(summary, AIR_RH, reading->rh_mp);
    file->before_ms = file->at_ms;
    file->at_ms = reading->at_ms;
}

static enum coat_result read_row(struct air_file *file, struct reading *ret, struct coat_error *error)
{
    enum coat_result result = check_width(file, error);
    *ret = (struct reading){0, READING_NONE, READING_NONE, READING_HOLD_MIN_S};
    if (result == COAT_OK)
        result = read_temp(file, &ret->temp_mc, error);
    if (result == COAT_OK)
        result = read_rh(file, &ret->rh_mp, error);
    if (result != COAT_OK || (ret->temp_mc == READING_NONE && ret->rh_mp == READING_NONE))
        return result;
    result = read_time(file, &ret->at_ms, error);
    return result == COAT_OK ? check_step(file, ret, error) : result;
}

enum coat_result air_file_next(struct air_file *file, struct reading *ret, bool *ret_more, struct coat_error *error)
{
    for (;;) {
        struct coat_error inner = {0};
        if (csv_next(&file->csv, ret_more, &inner) != COAT_OK)
            return fail_row(file, -1, error, "%s", inner.text);
        if (!*ret_more)
            return COAT_OK;
        enum coat_result result = read_row(file, ret, error);
        if (result != COAT_OK)
            return result;
        file->summary.rows++;
        if (ret->temp_mc != READING_NONE || ret->rh_mp != READING_NONE) {
            count_reading(file, ret);
            return COAT_OK;
        }
        file->summary.empty++;
    }
}
