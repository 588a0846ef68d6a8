#include "rank/sets.h"

#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Numbers kept each way, at most (8 MiB). */
#define MOST_NUMBERS 0x1p20

/* A set while it is looked for. */
typedef struct found {
    bool *present; /* by cause */
    double log_chance;
} found;

typedef struct search {
    rank_sweep *sweep;
    found best[RANK_SETS]; /* of the causes being looked at, most probable first */
    uint32_t count;
    found all[RANK_SETS], room[RANK_SETS]; /* of those looked at so far; where they are put together */
    uint32_t all_count;
    bool *present;          /* by cause: the set being tried */
    uint32_t end;           /* step after the causes being looked at */
    double *logs;           /* by step: of what was taken out of its vector on the way back */
    double *back;           /* by step, where `saved` says: what can still come; one more for the end */
    double *forth;          /* likewise: what has been worked in */
    double *work, *factors; /* two vectors of the widest */
    double forth_end;       /* what has been worked in after the last step */
    double steps, max_steps;
    bool proven;
} search;

static size_t power(uint32_t bits)
{
    return (size_t)1 << bits;
}

/* Brings the largest number near 1; the logarithm of what was taken out. */
static double scale(double *x, size_t size)
{
    double largest = 0;
    for (size_t s = 0; s < size; s++)
        largest = x[s] > largest ? x[s] : largest;
    if (largest <= 0 || (largest > 0x1p-64 && largest < 0x1p64))
        return 0;
    int exponent = 0;
    (void)frexp(largest, &exponent);
    exponent = exponent < -1000 ? -1000 : exponent;
    for (size_t s = 0; s < size; s++)
        x[s] = ldexp(x[s], -exponent);
    return exponent * RANK_LOG_2;
}

/* -- The way back -- */

static void back_over_close(const search *s, const sweep_step *step, double *y)
{
    const sweep_bit *bit = &s->sweep->bits[step->who];
    const sweep_drawn drawn = bit->kind == SWEEP_DRAWN ? s->sweep->drawn[bit->who] : (sweep_drawn){1, 0};
    const double clear_weight = drawn.hit, set_weight = drawn.hit + drawn.miss;
    const size_t span = power(step->place);
    for (size_t from = power(step->width_out); from-- > 0;) {
        const size_t clear = from / span * 2 * span + from % span;
        const double value = y[from];
        y[clear + span] = value * set_weight;
        y[clear] = value * clear_weight;
    }
}

static void back_over_cause(const search *s, const sweep_step *step, double *y)
{
    const size_t size = power(step->width);
    double *factors = s->factors;
    if (!step->leads)
        memcpy(y + size, y, size * sizeof *y);
    sweep_untouch(s->sweep, step, y + size);
    for (size_t i = 0; i < size; i++)
        factors[i] = 1;
    sweep_split(s->sweep, step, factors);
    for (size_t i = 0; i < size; i++)
        y[i] = fmax(y[i] * factors[i], y[size + i] * factors[size + i]);
}

static void look_back(search *s)
{
    double *y = s->work, taken = 0;
    for (uint32_t i = s->sweep->step_count; i-- > 0;) {
        const sweep_step *step = &s->sweep->steps[i];
        if (step->width_out == 0) { /* what follows is another matter */
            y[0] = 1;
            taken = 0;
        }
        if (step->kind == SWEEP_CLOSE)
            back_over_close(s, step, y);
        else
            back_over_cause(s, step, y);
        taken += scale(y, power(step->width_in));
        memcpy(s->back + step->saved, y, sizeof *y << step->width_in);
        s->logs[i] = taken;
    }
}

/* -- The search -- */

static void keep(search *s, double log_chance)
{
    uint32_t to = s->count < RANK_SETS ? s->count++ : RANK_SETS - 1;
    found entry = s->best[to];
    for (; to > 0 && s->best[to - 1].log_chance < log_chance; to--)
        s->best[to] = s->best[to - 1];
    memcpy(entry.present, s->present,
           ((size_t)s->sweep->net->model->causes_count + 1) * sizeof *entry.present);
    entry.log_chance = log_chance;
    s->best[to] = entry;
}

static bool is_hopeless(const search *s, double log_bound)
{
    return log_bound == -INFINITY ||
           (s->count == RANK_SETS && log_bound <= s->best[RANK_SETS - 1].log_chance);
}

/* The logarithm of what the vector before a step can still come to; `logs`: taken out of it. */
static double bound(const search *s, uint32_t step, const double *x, double logs)
{
    if (step == s->end)
        return log(x[0]) + logs;
    const double *y = s->back + s->sweep->steps[step].saved;
    double sum = 0;
    for (size_t i = 0; i < power(s->sweep->steps[step].width_in); i++)
        sum += x[i] * y[i];
    /* cppcheck-suppress invalidFunctionArg ; minus infinity where nothing is left */
    return log(sum) + logs + s->logs[step];
}

/* The vector before the step with the cause absent, or present; then what can be closed is. Returns the step
 * that follows. */
static uint32_t decide(search *s, uint32_t at, bool present, double *x, double *logs)
{
    const sweep_step *step = &s->sweep->steps[at];
    const size_t size = power(step->width);
    memcpy(x, s->forth + step->saved, sizeof *x << step->width_in);
    sweep_open(s->sweep, step, x);
    sweep_split(s->sweep, step, x);
    if (present) {
        sweep_touch_findings(s->sweep, step, x + size);
        if (step->leads)
            memset(x, 0, size * sizeof *x);
        else
            memcpy(x, x + size, size * sizeof *x);
    } else if (step->leads) {
        memset(x + size, 0, size * sizeof *x);
    }
    for (at++; at < s->end && s->sweep->steps[at].kind == SWEEP_CLOSE; at++)
        sweep_close(s->sweep, &s->sweep->steps[at], x);
    *logs += scale(x, at < s->end ? power(s->sweep->steps[at].width_in) : 1);
    return at;
}

/* Numbers touched by deciding one way. */
static double steps_of(const sweep_step *step)
{
    return 2.0 * (double)power(step->width) * (3.0 + step->touches.count + step->parents.count);
}

/* The better half first. As deep as there are causes that hang together. */
static void look(search *s, uint32_t at, double logs)
{
    if (at == s->end) {
        keep(s, logs + log(s->forth_end));
        return;
    }
    const sweep_step *step = &s->sweep->steps[at];
    const cw_cause_id id = step->who;
    const double need = 4 * steps_of(step);
    s->proven = s->proven && s->steps + need <= s->max_steps;
    if (!s->proven)
        return;
    s->steps += need;
    double after[2], bounds[2];
    uint32_t next = at;
    for (int present = 0; present < 2; present++) {
        after[present] = logs;
        next = decide(s, at, present == 1, s->work, &after[present]);
        bounds[present] = bound(s, next, s->work, after[present]);
    }
    const int better = bounds[1] > bounds[0];
    for (int turn = 0; turn < 2 && s->proven; turn++) {
        const int present = turn == 0 ? better : !better;
        if (is_hopeless(s, bounds[present]))
            continue;
        double again = logs;
        next = decide(s, at, present == 1, s->work, &again);
        if (next < s->end)
            memcpy(s->forth + s->sweep->steps[next].saved, s->work,
                   sizeof(double) << s->sweep->steps[next].width_in);
        else
            s->forth_end = s->work[0];
        s->present[id] = present == 1;
        look(s, next, again);
        s->present[id] = false;
    }
}

/* -- Put together -- */

/* The likeliest pairs of one found before and one found now: those looked at have nothing to do with each
 * other. */
static void put_together(search *s)
{
    const size_t causes = (size_t)s->sweep->net->model->causes_count + 1;
    uint32_t next[RANK_SETS] = {
        0}; /* by one found before: the first found now that it is not yet paired with */
    uint32_t made = 0;
    for (; made < RANK_SETS; made++) {
        uint32_t best = UINT32_MAX;
        double most = -INFINITY;
        for (uint32_t i = 0; i < s->all_count; i++) {
            const double of =
                next[i] < s->count ? s->all[i].log_chance + s->best[next[i]].log_chance : -INFINITY;
            if (of > most) {
                best = i;
                most = of;
            }
        }
        if (best == UINT32_MAX)
            break;
        const found *now = &s->best[next[best]++];
        s->room[made].log_chance = most;
        for (size_t id = 0; id < causes; id++)
            s->room[made].present[id] = s->all[best].present[id] || now->present[id];
    }
    for (uint32_t i = 0; i < RANK_SETS; i++) {
        const found swap = s->all[i];
        s->all[i] = s->room[i];
        s->room[i] = swap;
    }
    s->all_count = made;
}

/* A cause that stands alone is absent or present. Most are never present in a set that counts: then all sets
 * are as they were, and without it. */
static void look_at_alone(search *s, cw_cause_id id)
{
    const rank_sweep *sweep = s->sweep;
    const net_cause *cause = &sweep->net->causes[id];
    const double absent = log(cause->absent * sweep->absent_factor[id]),
                 present = log(cause->own * sweep->present_factor[id]);
    if (s->all_count == RANK_SETS &&
        s->all[0].log_chance + present < s->all[RANK_SETS - 1].log_chance + absent) {
        for (uint32_t i = 0; i < RANK_SETS; i++)
            s->all[i].log_chance += absent;
        return;
    }
    s->count = 0;
    keep(s, absent);
    s->present[id] = true;
    keep(s, present);
    s->present[id] = false;
    put_together(s);
}

/* Where no bit is open, what follows has nothing to do with what came before. */
static void look_at_all(search *s)
{
    const rank_sweep *sweep = s->sweep;
    s->all_count = 1;
    s->all[0].log_chance = sweep->log_factor;
    for (uint32_t begin = 0; begin < sweep->step_count; begin = s->end) {
        for (s->end = begin + 1; s->end < sweep->step_count && sweep->steps[s->end].width_in > 0;)
            s->end++;
        s->count = 0;
        s->forth[sweep->steps[begin].saved] = 1;
        look(s, begin, 0);
        put_together(s);
    }
    for (uint32_t i = 0; i < sweep->net->live_count; i++)
        if (sweep->alone[sweep->net->live[i]])
            look_at_alone(s, sweep->net->live[i]);
}

/* -- The whole -- */

static bool take_room(search *s, cw_arena *arena)
{
    const rank_sweep *sweep = s->sweep;
    const size_t causes = (size_t)sweep->net->model->causes_count + 1, kept = (size_t)sweep->numbers_needed,
                 widest = (size_t)sweep->widest;
    bool *flags = CW_NEW_ARRAY(arena, bool, causes *(3 * RANK_SETS + 1));
    double *numbers = CW_NEW_ARRAY(arena, double, 2 * kept + 2 * widest + sweep->step_count);
    if (flags == NULL || numbers == NULL)
        return false;
    for (uint32_t i = 0; i < RANK_SETS; i++) {
        s->best[i].present = flags + causes * i;
        s->all[i].present = flags + causes * (RANK_SETS + i);
        s->room[i].present = flags + causes * (2 * RANK_SETS + i);
    }
    s->present = flags + causes * 3 * RANK_SETS;
    s->back = numbers;
    s->forth = s->back + kept;
    s->work = s->forth + kept;
    s->factors = s->work + widest;
    s->logs = s->factors + widest;
    return true;
}

static bool lay_out(const search *s, cw_arena *arena, rank_set *sets)
{
    const uint32_t causes = s->sweep->net->model->causes_count;
    for (uint32_t i = 0; i < s->all_count; i++) {
        cw_cause_id *list = CW_NEW_ARRAY(arena, cw_cause_id, causes);
        if (list == NULL)
            return false;
        sets[i] = (rank_set){.causes = list, .log_chance = s->all[i].log_chance};
        for (cw_cause_id id = 1; id <= causes; id++)
            if (s->all[i].present[id])
                list[sets[i].count++] = id;
    }
    return true;
}

cw_status rank_sets_find(rank_sweep *sweep, double max_steps, cw_arena *arena, rank_set *sets,
                         uint32_t *count, bool *proven, double *steps)
{
    search s = {.sweep = sweep, .max_steps = max_steps, .proven = true};
    *count = 0;
    *proven = false;
    if (rank_sweep_choose_line(sweep) != CW_OK)
        return CW_NO_MEMORY;
    s.steps = sweep->cost;
    if (!rank_sweep_fits(sweep) || sweep->numbers_needed > MOST_NUMBERS || sweep->cost > max_steps)
        return CW_OK;
    if (!take_room(&s, arena))
        return CW_NO_MEMORY;
    look_back(&s);
    look_at_all(&s);
    *count = s.all_count;
    *proven = s.proven;
    *steps += s.steps;
    return lay_out(&s, arena, sets) ? CW_OK : CW_NO_MEMORY;
}
