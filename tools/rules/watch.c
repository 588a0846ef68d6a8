#include "rules/watch.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/select.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    MOST_FOLDERS = 64,
    QUIET_MS = 100,   /* editors save in several steps: what follows within this is one save */
    MOST_ROUNDS = 20, /* ... but not for ever */
    LOOK_MS = 1000    /* without inotify */
};

struct watch_list {
    char *folders[MOST_FOLDERS];
    size_t count;
    int notify; /* -1: by looking */
    uint64_t seen;
    sigset_t while_waiting;
};

static volatile sig_atomic_t stopped;

static void note(int signal)
{
    (void)signal;
    stopped = 1;
}

/* Blocked but for the wait itself, so none can slip in between looking at the flag and waiting. */
static void catch_signals(watch_list *list)
{
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction action = {.sa_handler = note};
    sigset_t ours;
    sigemptyset(&action.sa_mask);
    sigemptyset(&ours);
    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++) {
        sigaddset(&ours, signals[i]);
        sigaction(signals[i], &action, NULL);
    }
    sigprocmask(SIG_BLOCK, &ours, &list->while_waiting);
    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++)
        sigdelset(&list->while_waiting, signals[i]);
}

watch_list *watch_new(void)
{
    watch_list *list = calloc(1, sizeof *list);
    if (list == NULL)
        return NULL;
    list->notify = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
    catch_signals(list);
    return list;
}

static bool is_pack_file(const char *name)
{
    size_t size = strlen(name);
    return name[0] != '.' && size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

static uint64_t mix(uint64_t hash, uint64_t number)
{
    return (hash ^ number) * 0x9E3779B97F4A7C15u ^ (hash >> 29);
}

/* A sum over files, so that their order in the folder does not count. */
static uint64_t look_into(const char *folder)
{
    uint64_t sum = 0;
    DIR *open = opendir(folder);
    if (open == NULL)
        return 0;
    for (const struct dirent *at; (at = readdir(open)) != NULL;) {
        char path[PATH_MAX];
        struct stat found;
        int size = snprintf(path, sizeof path, "%s/%s", folder, at->d_name);
        if (!is_pack_file(at->d_name) || size < 0 || (size_t)size >= sizeof path || stat(path, &found) != 0)
            continue;
        uint64_t hash = mix((uint64_t)found.st_mtim.tv_sec, (uint64_t)found.st_mtim.tv_nsec);
        sum += mix(mix(hash, (uint64_t)found.st_size), (uint64_t)found.st_ino);
    }
    closedir(open);
    return sum;
}

static uint64_t look(const watch_list *list)
{
    uint64_t sum = 0;
    for (size_t i = 0; i < list->count; i++)
        sum += look_into(list->folders[i]);
    return sum;
}

void watch_add(watch_list *list, const char *folder)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->folders[i], folder) == 0)
            return;
    char *copy = list->count < MOST_FOLDERS ? strdup(folder) : NULL;
    if (copy == NULL)
        return;
    list->folders[list->count++] = copy;
    if (list->notify >= 0 &&
        inotify_add_watch(list->notify, folder, IN_CLOSE_WRITE | IN_MOVE | IN_DELETE) < 0) {
        close(list->notify);
        list->notify = -1;
    }
    list->seen = look(list);
}

/* True when there is something to read; false when the time is up or the person ends it. */
static bool wait_for(const watch_list *list, long milliseconds)
{
    struct timespec time = {milliseconds / 1000, milliseconds % 1000 * 1000000};
    fd_set set;
    FD_ZERO(&set);
    if (list->notify >= 0)
        FD_SET(list->notify, &set);
    int ready = pselect(list->notify + 1, list->notify >= 0 ? &set : NULL, NULL, NULL,
                        milliseconds < 0 ? NULL : &time, &list->while_waiting);
    return ready > 0;
}

/* Reads what has come; true when a pack file is among it. */
static bool read_events(const watch_list *list)
{
    union {
        struct inotify_event event;
        char bytes[8192];
    } room;
    bool found = false;
    for (ssize_t size; (size = read(list->notify, room.bytes, sizeof room.bytes)) > 0;) {
        for (ssize_t at = 0; at < size;) {
            struct inotify_event event;
            memcpy(&event, room.bytes + at, sizeof event);
            found |= event.len > 0 && is_pack_file(room.bytes + at + sizeof event);
            at += (ssize_t)sizeof event + (ssize_t)event.len;
        }
    }
    return found;
}

static void let_it_settle(const watch_list *list)
{
    for (int round = 0; round < MOST_ROUNDS && wait_for(list, QUIET_MS); round++)
        (void)read_events(list);
}

bool watch_wait(watch_list *list)
{
    while (!stopped) {
        if (list->notify >= 0) {
            if (wait_for(list, -1) && read_events(list)) {
                let_it_settle(list);
                return !stopped;
            }
            continue;
        }
        (void)wait_for(list, LOOK_MS);
        uint64_t now = look(list);
        if (now == list->seen)
            continue;
        list->seen = now;
        return !stopped;
    }
    return false;
}

void watch_free(watch_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->folders[i]);
    if (list->notify >= 0)
        close(list->notify);
    free(list);
}
