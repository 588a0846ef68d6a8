/* An allocator for tests: it counts what is out, checks every size it is told, and can be made to fail.
 *
 *     failing memory;
 *     for (size_t allowed = 0;; allowed++) {
 *         failing_start(&memory, allowed);
 *         ... use &memory.allocator ...
 *         cr_assert_eq(failing_bytes(&memory), 0);   // nothing leaked
 *         if (!memory.refused) break;                // all went through: every request has failed once
 *     }
 */
#ifndef CW_TESTS_FAILING_H
#define CW_TESTS_FAILING_H

#include "base/alloc.h"
#include <stdbool.h>
#include <stdint.h>

#define FAILING_NEVER SIZE_MAX

typedef struct failing {
    cw_allocator allocator;
    size_t allowed;  /* requests still granted; FAILING_NEVER: all */
    size_t requests; /* asked for so far, granted or not; frees do not count */
    size_t pieces;   /* out now */
    size_t bytes;    /* out now */
    bool refused;    /* at least one request was refused */
    bool once;       /* refuse a single request, then grant again */
} failing;

/* Grants that many requests and refuses all later ones. memory must stay where it is while in use. */
void failing_start(failing *memory, size_t allowed);
/* Grants that many requests, refuses the next, and grants again: finds code that goes on after a failure. */
void failing_start_once(failing *memory, size_t allowed);
/* Bytes that are out; 0 when all has been given back. A wrong size told by the caller aborts the test at
 * once. */
size_t failing_bytes(const failing *memory);

#endif
