#include "daemon/http/layout.h"

#include <stddef.h>
#include <string.h>

bool layout_is_told(const char *library_version)
{
    return strncmp(library_version, "0.9.7", 5) == 0;
}

struct layout layout_begin(const char *version)
{
    return (struct layout){.end = version + strlen(version)};
}

void layout_note(struct layout *layout, const char *name, const char *value)
{
    if (layout->broken || name != layout->end + 2 || value == NULL) {
        layout->broken = true;
        return;
    }
    const char *at = name + strlen(name) + 1; /* behind what was the colon */
    at += strspn(at, " \t");
    layout->broken = at != value;
    layout->end = value + strlen(value);
}

bool layout_is_whole(const struct layout *layout)
{
    return !layout->broken && layout->end[1] == '\0'; /* CR and LF of the last line */
}
