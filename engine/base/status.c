#include "corewright/status.h"

const char *cw_status_text(cw_status status)
{
    switch (status) {
    case CW_OK:
        return "done";
    case CW_NO_MEMORY:
        return "out of memory";
    case CW_BAD_CALL:
        return "the call breaks a rule of the library";
    case CW_BAD_INPUT:
        return "the input is wrong";
    case CW_UNCLEAR:
        return "the answer could mean two things";
    case CW_LIMIT:
        return "a limit is reached";
    case CW_CANNOT_READ:
        return "cannot read";
    case CW_CANNOT_WRITE:
        return "cannot write";
    case CW_NOT_FOUND:
        return "nothing of that name";
    }
    return "unknown status";
}
