/* What goes over what: the class of the new coat over the class of the one below. Pure. */
#ifndef COAT_COMPAT_H
#define COAT_COMPAT_H

#include "coat/words.h"

#include <stdbool.h>

struct compat_verdict {
    enum compat verdict;
    const char *reason; /* one sentence */
    const char *source; /* document and section, "common practice" or "from memory" */
};

/* below_cured: the coat below is past its cure stage. A pair that no source tells of is COMPAT_TEST. */
struct compat_verdict compat_over(enum material_class over, enum material_class below, bool below_cured);

#endif
