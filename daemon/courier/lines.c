#include "daemon/courier/lines.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>

static void end_lines(struct lines *lines)
{
    lines->over = true;
}

void lines_fill(struct lines *lines)
{
    memmove(lines->text, lines->text + lines->begin, lines->end - lines->begin);
    lines->end -= lines->begin;
    lines->begin = 0;
    if (lines->end == COURIER_LINE_MAX) { /* no line is that long */
        end_lines(lines);
        return;
    }
    ssize_t got = recv(lines->fd, lines->text + lines->end, COURIER_LINE_MAX - lines->end, 0);
    if (got > 0)
        lines->end += (size_t)got;
    else if (got == 0 || (errno != EINTR && errno != EAGAIN))
        end_lines(lines);
}

cJSON *lines_next(struct lines *lines)
{
    char *line = lines->text + lines->begin;
    const char *stop = memchr(line, '\n', lines->end - lines->begin);
    if (lines->over || stop == NULL)
        return NULL;
    size_t length = (size_t)(stop - line);
    cJSON *object = cJSON_ParseWithLength(line, length);
    explicit_bzero(line, length);
    lines->begin += length + 1;
    if (!cJSON_IsObject(object)) {
        cJSON_Delete(object);
        end_lines(lines);
        return NULL;
    }
    return object;
}

cJSON *lines_wait(struct lines *lines)
{
    cJSON *object = lines_next(lines);
    while (object == NULL && !lines->over) {
        lines_fill(lines);
        object = lines_next(lines);
    }
    return object;
}

static void send_all(struct lines *lines, const char *text, size_t length)
{
    while (length > 0 && !lines->over) {
        ssize_t sent = send(lines->fd, text, length, MSG_NOSIGNAL);
        if (sent > 0) {
            text += sent;
            length -= (size_t)sent;
        } else if (errno != EINTR) {
            end_lines(lines);
        }
    }
}

bool lines_send(struct lines *lines, cJSON *object)
{
    char *text = object != NULL ? cJSON_PrintUnformatted(object) : NULL;
    cJSON_Delete(object);
    if (text == NULL)
        return false; /* out of memory: as if it were too long */
    size_t length = strlen(text);
    bool fits = length < COURIER_LINE_MAX;
    if (fits) {
        text[length] = '\n'; /* in the place of the NUL */
        send_all(lines, text, length + 1);
    }
    cJSON_free(text);
    return fits;
}

const char *lines_text(const cJSON *object, const char *name)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, name));
    return text != NULL ? text : "";
}
