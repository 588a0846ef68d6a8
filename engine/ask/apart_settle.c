/* The smallest set of checks that settles as much as all of them. Pairs become elements only when a set found
 * so far leaves them out: first greedy sets, until nothing is left out, then the exact one, which may leave
 * out others. A set that is smallest for some pairs and covers all is smallest for all. */
#include "ask/apart_inside.h"
#include "ask/cover.h"

#include <math.h>
#include <string.h>

enum { MOST_A_ROUND = 64 };
#define TOLD 1e-6
#define NEARLY 0.98 /* of the surest look's V */

typedef struct settling {
    apart *p;
    cw_arena *arena;          /* as long as this */
    const apart_look **looks; /* that can be done there */
    cw_cover_look *takes;     /* beside looks: numbers of checks */
    uint32_t look_count;
    cw_check_id *checks; /* by number */
    double *minutes;
    uint32_t check_count;
    uint32_t words;
    cw_vec elements; /* of uint64_t, words of them for each */
    uint64_t *fresh; /* room for one */
    bool *had;       /* by look: with the set at hand */
} settling;

static uint32_t number_of(settling *s, cw_check_id check)
{
    for (uint32_t i = 0; i < s->check_count; i++)
        if (s->checks[i] == check)
            return i;
    s->checks[s->check_count] = check;
    s->minutes[s->check_count] = s->p->model->checks[check].minutes;
    return s->check_count++;
}

static cw_status list_looks(settling *s, uint32_t places)
{
    apart *p = s->p;
    s->looks = CW_NEW_ARRAY(s->arena, const apart_look *, p->look_count);
    s->takes = CW_NEW_ARRAY(s->arena, cw_cover_look, p->look_count);
    s->checks = CW_NEW_ARRAY(s->arena, cw_check_id, (size_t)p->model->checks_count + 1);
    s->minutes = CW_NEW_ARRAY(s->arena, double, (size_t)p->model->checks_count + 1);
    s->had = CW_NEW_ARRAY(s->arena, bool, p->look_count);
    if (s->looks == NULL || s->takes == NULL || s->checks == NULL || s->minutes == NULL || s->had == NULL)
        return CW_NO_MEMORY;
    for (uint32_t l = 0; l < p->look_count; l++) {
        double minutes;
        uint32_t went;
        uint32_t *items = CW_NEW_ARRAY(s->arena, uint32_t, p->looks[l].count);
        if (items == NULL)
            return CW_NO_MEMORY;
        if (!apart_look_at(p, &p->looks[l], places, &minutes, &went))
            continue;
        for (uint32_t c = 0; c < p->looks[l].count; c++)
            items[c] = number_of(s, p->looks[l].checks[c]);
        s->takes[s->look_count] = (cw_cover_look){items, p->looks[l].count};
        s->looks[s->look_count++] = &p->looks[l];
    }
    s->words = cw_cover_words(s->look_count);
    s->fresh = CW_NEW_ARRAY(s->arena, uint64_t, s->words);
    return s->fresh == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Fills s->fresh with the looks that settle the pair; false where none parts it, or one at hand does. */
static bool left_out(settling *s, uint32_t a, uint32_t b, bool *parted)
{
    const double sure = 2 * s->p->sure - 1;
    double most = 0;
    bool settled = false;
    for (uint32_t l = 0; l < s->look_count; l++)
        most = fmax(most, apart_parts(s->p, s->looks[l], a, b));
    s->p->steps += s->look_count;
    *parted = most > TOLD;
    if (!*parted)
        return false;
    const double least = fmin(sure, NEARLY * most);
    memset(s->fresh, 0, s->words * sizeof *s->fresh);
    for (uint32_t l = 0; l < s->look_count && !settled; l++)
        if (apart_parts(s->p, s->looks[l], a, b) >= least) {
            s->fresh[l / 64] |= (uint64_t)1 << (l % 64);
            settled = s->had[l];
        }
    return !settled;
}

static bool within(const uint64_t *a, const uint64_t *b, uint32_t words)
{
    for (uint32_t w = 0; w < words; w++)
        if ((a[w] & ~b[w]) != 0)
            return false;
    return true;
}

/* One that another implies says nothing new. */
static cw_status add_element(settling *s)
{
    const size_t count = s->elements.count / s->words;
    for (size_t i = 0; i < count; i++)
        if (within(CW_VEC_AT(&s->elements, uint64_t, i * s->words), s->fresh, s->words))
            return CW_OK;
    for (uint32_t w = 0; w < s->words; w++) {
        uint64_t *word = cw_vec_add(&s->elements);
        if (word == NULL)
            return CW_NO_MEMORY;
        *word = s->fresh[w];
    }
    return CW_OK;
}

static void note_had(settling *s, const cw_cover *cover)
{
    for (uint32_t l = 0; l < s->look_count; l++) {
        s->had[l] = true;
        for (uint32_t i = 0; i < s->takes[l].count; i++)
            s->had[l] = s->had[l] && cover->chosen[s->takes[l].items[i]];
    }
}

/* Adds pairs that the set at hand leaves out. */
static cw_status gather(settling *s, uint64_t *pairs, bool *more)
{
    const size_t before = s->elements.count;
    cw_status status = CW_OK;
    *pairs = 0;
    for (uint32_t a = 0; a < s->p->count && status == CW_OK; a++)
        for (uint32_t b = a + 1; b < s->p->count && status == CW_OK; b++) {
            bool parted = false;
            const bool out = left_out(s, a, b, &parted);
            *pairs += parted ? 1 : 0;
            if (out && s->elements.count < before + (size_t)MOST_A_ROUND * s->words)
                status = add_element(s);
        }
    *more = s->elements.count > before;
    return status;
}

static cw_status solve(settling *s, bool exactly, cw_arena *arena, cw_cover *cover)
{
    cw_cover_task task = {.item_count = s->check_count,
                          .minutes = s->minutes,
                          .looks = s->takes,
                          .look_count = s->look_count,
                          .elements = s->elements.items,
                          .element_count = s->words > 0 ? (uint32_t)(s->elements.count / s->words) : 0,
                          .max_steps = CW_APART_COVER_STEPS};
    const cw_status status = (exactly ? cw_cover_solve : cw_cover_greedy)(&task, arena, cover);
    s->p->steps += status == CW_OK ? cover->steps : 0;
    return status;
}

static cw_status cover_all(settling *s, cw_apart_cover *out, cw_cover *cover)
{
    bool exactly = false, more = true;
    uint32_t at_least = 0;
    cw_status status = solve(s, false, s->arena, cover);
    for (;;) {
        if (status != CW_OK)
            return status;
        note_had(s, cover);
        at_least = cover->at_least > at_least ? cover->at_least : at_least;
        status = gather(s, &out->pairs, &more);
        if (status != CW_OK || (!more && exactly))
            break;
        exactly = !more || (exactly && cover->exact);
        status = solve(s, exactly, s->arena, cover);
    }
    out->exact = cover->exact;
    out->at_least = cover->exact ? cover->count : at_least;
    return status;
}

static cw_status hand_out(const settling *s, const cw_cover *cover, cw_apart_cover *out)
{
    const apart *p = s->p;
    cw_check_id *checks = CW_NEW_ARRAY(p->arena, cw_check_id, cover->count);
    cw_where *at = CW_NEW_ARRAY(p->arena, cw_where, cover->count);
    uint32_t went = 0;
    if (checks == NULL || at == NULL)
        return CW_NO_MEMORY;
    for (cw_check_id id = 1; id <= p->model->checks_count; id++)
        for (uint32_t i = 0; i < s->check_count; i++) {
            if (s->checks[i] != id || !cover->chosen[i])
                continue;
            apart_check_at(p->model, id, out->places, &at[out->count]);
            went |= 1u << at[out->count];
            checks[out->count++] = id;
            out->minutes += p->model->checks[id].minutes;
        }
    for (cw_where w = CW_AT_VEHICLE; w < CW_WHERE_COUNT; w++)
        out->minutes += (went >> w & 1) != 0 ? p->model->costs.reach[w] : 0;
    out->checks = checks;
    out->at = at;
    out->of = s->check_count;
    return CW_OK;
}

cw_status apart_settle(apart *p, cw_apart_cover *out)
{
    const uint32_t everywhere = (1u << CW_WHERE_COUNT) - 1;
    settling s = {.p = p,
                  .arena = cw_arena_new(&p->asker->allocator),
                  .elements = CW_VEC_INIT(&p->asker->allocator, uint64_t)};
    cw_cover cover = {0};
    *out = (cw_apart_cover){.places = p->places == everywhere ? 1u << CW_AT_COUNTER : p->places};
    if (s.arena == NULL)
        return CW_NO_MEMORY;
    cw_status status = list_looks(&s, out->places);
    if (status == CW_OK)
        status = cover_all(&s, out, &cover);
    if (status == CW_OK)
        status = hand_out(&s, &cover, out);
    cw_vec_dispose(&s.elements);
    cw_arena_free(s.arena);
    return status;
}
