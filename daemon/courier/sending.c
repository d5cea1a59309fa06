#include "daemon/courier/sending.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void sending_append(char *text, size_t size, const char *format, ...)
{
    va_list arguments;
    size_t used = strlen(text);
    va_start(arguments, format);
    (void)vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
}

/* One line, whatever the other side wrote. */
static void make_line(char *text)
{
    size_t length = strlen(text);
    for (size_t i = 0; i < length; i++)
        if (iscntrl((unsigned char)text[i]))
            text[i] = ' ';
    while (length > 0 && text[length - 1] == ' ')
        text[--length] = '\0';
}

static void tell(struct lines *lines, const char *id, bool sent, char answer[SENDING_ANSWER_SIZE])
{
    cJSON *line = cJSON_CreateObject();
    make_line(answer);
    cJSON_AddStringToObject(line, sent ? "sent" : "failed", id);
    cJSON_AddStringToObject(line, "answer", answer);
    (void)lines_send(lines, line);
}

void sending_run(struct lines *lines, bool (*send)(void *context, const struct notice_out *notice, char answer[SENDING_ANSWER_SIZE]), void *context)
{
    for (cJSON *line = lines_wait(lines); line != NULL; line = lines_wait(lines)) {
        char answer[SENDING_ANSWER_SIZE] = "";
        const struct notice_out notice = {
            .id = lines_text(line, "send"), .subject = lines_text(line, "subject"), .text = lines_text(line, "text"), .json = lines_text(line, "json"),
        };
        lines->over = notice.id[0] == '\0'; /* that is no line of ours */
        if (!lines->over)
            tell(lines, notice.id, send(context, &notice, answer), answer);
        cJSON_Delete(line);
    }
}
