/* Waits until a pack file in one of some folders is saved, or the person ends it with Ctrl-C. Uses inotify;
 * where the system gives none (limits, network drives) it looks at times and sizes once a second. */
#ifndef TOOLS_RULES_WATCH_H
#define TOOLS_RULES_WATCH_H

#include <stdbool.h>

typedef struct watch_list watch_list;

/* From here on SIGINT, SIGTERM and SIGHUP end watch_wait only. NULL when memory fails. */
watch_list *watch_new(void);
/* Once each; what cannot be watched is left out. */
void watch_add(watch_list *list, const char *folder);
/* True when something was saved, false when it is to end. */
bool watch_wait(watch_list *list);
void watch_free(watch_list *list);

#endif
