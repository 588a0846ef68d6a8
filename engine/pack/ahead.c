/* sched_getaffinity wants the GNU names. */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */
#include "pack/ahead.h"

#include <sched.h>
#include <signal.h>

/* Any message, and the file is read once more in its turn. */
static const cw_node *read_silently(const ahead *all, uint32_t source, cw_arena *arena)
{
    const cw_node *root = NULL;
    cw_diags *diags = cw_diags_new(cw_arena_allocator(arena));
    if (diags == NULL)
        return NULL;
    const cw_status status = cw_yaml_read(arena, all->sources, source, diags, &root);
    const bool silent = status == CW_OK && cw_diags_count(diags) == 0;
    cw_diags_free(diags);
    return silent ? root : NULL;
}

static void take_files(ahead *all, cw_arena *arena)
{
    for (size_t i; (i = atomic_fetch_add(&all->next, 1)) < all->count;)
        all->files[i].root = read_silently(all, all->files[i].source, arena);
}

static void *lend_hand(void *context)
{
    const struct ahead_hand *hand = context;
    take_files(hand->all, hand->arena);
    return NULL;
}

static size_t bytes_of(const ahead *all)
{
    size_t bytes = 0;
    for (size_t i = 0; i < all->count; i++) {
        size_t size;
        cw_source_text(all->sources, all->files[i].source, &size);
        bytes += size;
    }
    return bytes;
}

static size_t cores_allowed(void)
{
    cpu_set_t set;
    const int count = sched_getaffinity(0, sizeof set, &set) == 0 ? CPU_COUNT(&set) : 1;
    return count < 1 ? 1 : (size_t)count;
}

/* Beside the caller's own thread. */
static size_t hands_wanted(const ahead *all, const cw_allocator *allocator)
{
    if (allocator->resize != cw_system_allocator.resize || bytes_of(all) < AHEAD_LEAST_BYTES)
        return 0;
    size_t wanted = cores_allowed() - 1;
    wanted = wanted < AHEAD_HANDS ? wanted : AHEAD_HANDS;
    return wanted < all->count ? wanted : all->count - 1;
}

static bool start_hand(ahead *all, cw_arena **arena, const cw_allocator *allocator)
{
    struct ahead_hand *hand = &all->hands[all->started];
    if (*arena == NULL)
        *arena = cw_arena_new(allocator);
    *hand = (struct ahead_hand){.all = all, .arena = *arena};
    if (*arena == NULL || pthread_create(&hand->thread, NULL, lend_hand, hand) != 0)
        return false;
    all->started++;
    return true;
}

void ahead_begin(ahead *all, cw_arena *arenas[AHEAD_HANDS], const cw_allocator *allocator,
                 const cw_sources *sources, ahead_file *files, size_t count)
{
    sigset_t every, before;
    *all = (ahead){.sources = sources, .files = files, .count = count};
    const size_t wanted = count < 2 ? 0 : hands_wanted(all, allocator);
    if (wanted == 0)
        return;
    sigfillset(&every); /* a signal is for a thread that the caller knows */
    pthread_sigmask(SIG_SETMASK, &every, &before);
    while (all->started < wanted && start_hand(all, &arenas[all->started], allocator))
        ;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
}

void ahead_end(ahead *all, cw_arena *arena)
{
    if (all->started > 0)
        take_files(all, arena);
    for (size_t i = 0; i < all->started; i++)
        pthread_join(all->hands[i].thread, NULL);
}
