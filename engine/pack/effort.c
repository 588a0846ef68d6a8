/* How many steps a pattern may take at most, seen from how it is written. */
#include "pack/trial.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { TIMES = TRIAL_SIZE, DEEP = 16, ALTERNATIVES = 64 };

/* In how many ways something can be matched from one spot, and how many steps trying them all takes. */
typedef struct effort {
    double ways, steps;
} effort;

/* What has been read of one group. */
typedef struct group {
    bool refuses;  /* matches where nothing in it does: (?! and (?<! */
    bool once;     /* left for good once it has matched: looking around, and (?> */
    effort before; /* what stands before it in the alternative around it */
    effort now;    /* its alternative being read, which begins at `from` */
    size_t from;
    double closed; /* ways through `now` where a word must end at `closed_at` */
    size_t closed_at;
    double ends; /* of the repeat before `ends_at` */
    size_t ends_at;
    double steps; /* of the finished alternatives, one for the try of each included */
    uint32_t count;
    struct {
        const char *word; /* the letters that it must begin with */
        size_t size;
        double ways, closed;
    } alternatives[ALTERNATIVES];
} group;

/* A letter, digit or blank, as it may stand in a word of the pattern. */
static bool is_letter(const char *text, size_t size, size_t at)
{
    if (at >= size)
        return false;
    int small = text[at] | 0x20;
    return (small >= 'a' && small <= 'z') || (text[at] >= '0' && text[at] <= '9') || text[at] == ' ';
}

static bool repeats(const char *text, size_t size, size_t at)
{
    return at < size && (text[at] == '?' || text[at] == '*' || text[at] == '+' || text[at] == '{');
}

bool trial_one_letter(const char *text, size_t size, size_t at)
{
    return is_letter(text, size, at) && !repeats(text, size, at + 1);
}

bool trial_same_letter(char a, char b)
{
    return (a | 0x20) == (b | 0x20);
}

static bool ends_word(const char *text, size_t size, size_t at)
{
    return at + 1 < size && text[at] == '\\' && text[at + 1] == 'b';
}

static void begin_alternative(group *in, size_t from)
{
    in->now = (effort){1, 0};
    in->from = from;
    in->closed_at = in->ends_at = 0;
    in->closed = 0;
}

/* Only what can be matched is kept. False: more alternatives than are looked into. */
static bool end_alternative(group *in, const char *text, size_t size, size_t at)
{
    in->steps += 1 + in->now.steps;
    if (in->now.ways == 0)
        return true;
    if (in->count == ALTERNATIVES)
        return false;
    size_t word = 0;
    while (trial_one_letter(text, size, in->from + word))
        word++;
    in->alternatives[in->count].word = text + in->from;
    in->alternatives[in->count].size = word;
    in->alternatives[in->count].ways = in->now.ways;
    in->alternatives[in->count++].closed = in->closed_at == at ? in->closed : in->now.ways;
    return true;
}

/* One text can begin with both: neither word, as far as the shorter goes, differs from the other. */
static bool go_together(const group *in, uint32_t a, uint32_t b)
{
    size_t size = in->alternatives[a].size < in->alternatives[b].size ? in->alternatives[a].size
                                                                      : in->alternatives[b].size;
    for (size_t i = 0; i < size; i++)
        if (!trial_same_letter(in->alternatives[a].word[i], in->alternatives[b].word[i]))
            return false;
    return true;
}

/* All alternatives that fit one text go together with each of themselves, so the most that goes together with
 * any one alternative is not exceeded. `closed`: a word must end behind the group. */
static effort whole_group(const group *in, bool closed)
{
    effort whole = {0, in->steps};
    for (uint32_t a = 0; a < in->count; a++) {
        double together = 0;
        for (uint32_t b = 0; b < in->count; b++)
            if (go_together(in, a, b))
                together += closed ? in->alternatives[b].closed : in->alternatives[b].ways;
        whole.ways = fmax(whole.ways, together);
    }
    return whole;
}

/* First one, then from each of its ends the other; what cannot be matched has none. */
static effort after(effort first, effort second)
{
    if (first.ways == 0)
        return first;
    return (effort){first.ways * second.ways, first.steps + first.ways * second.steps};
}

size_t trial_class_end(const char *text, size_t at, size_t size)
{
    at += at + 1 < size && text[at + 1] == '^' ? 2 : 1;
    for (size_t i = at; i < size && text[i] != '['; i++) {
        if (text[i] == '\\')
            i++;
        else if (text[i] == ']' && i > at)
            return i + 1;
    }
    return size + 1;
}

/* What stands behind an open bracket: the plain groups, and looking ahead or behind. */
static bool plain_group(const char *text, size_t at, size_t size)
{
    if (at + 1 >= size || text[at + 1] == '*')
        return false;
    if (text[at + 1] != '?')
        return true;
    bool behind = at + 3 < size && text[at + 2] == '<' && (text[at + 3] == '=' || text[at + 3] == '!');
    return behind || (at + 2 < size && strchr(":=!>", text[at + 2]) != NULL);
}

/* At `at`, behind "(?": it looks for what must not be there. */
static bool refusing_group(const char *text, size_t at, size_t size)
{
    return text[at] == '!' || (text[at] == '<' && at + 1 < size && text[at + 1] == '!');
}

/* A backslash before it makes a class, a place or one sign of it; anything else may take in what follows. */
static bool plain_escape(const char *text, size_t at, size_t size)
{
    if (at >= size)
        return false;
    int small = text[at] | 0x20;
    bool word = (small >= 'a' && small <= 'z') || (text[at] >= '0' && text[at] <= '9');
    return !word || (text[at] != '\0' && strchr("bBdDsSwW", text[at]) != NULL);
}

/* Two letters that must stand side by side at `at`, which in no text of the trial two different ones do. */
static bool never_beside(const char *text, size_t size, size_t at)
{
    return trial_one_letter(text, size, at) && trial_one_letter(text, size, at + 1) &&
           !trial_same_letter(text[at], text[at + 1]);
}

/* In how many places the repeat of one letter can end. */
static double repeat_ends(const char *text, size_t at, size_t size)
{
    double most = 0;
    if (text[at] != '{')
        return TIMES;
    while (++at < size && text[at] != ',' && text[at] != '}')
        ;
    while (++at < size && text[at] >= '0' && text[at] <= '9' && most < TIMES)
        most = most * 10 + (text[at] - '0');
    return most > 0 && most < TIMES ? most + 1 : TIMES;
}

/* What stands before `at` is one letter or \\w or \\d. */
static bool is_of_word(const char *text, size_t size, size_t at)
{
    bool escaped = at > 1 && text[at - 2] == '\\';
    return at > 0 && text[at - 1] != ' ' && is_letter(text, size, at - 1) &&
           (!escaped || text[at - 1] == 'w' || text[at - 1] == 'd');
}

/* The repeat at `at`. Letters before the end of a word can only end where it does. */
static void repeat(group *in, const char *text, size_t size, size_t at, double ends)
{
    const double before = in->now.ways;
    size_t behind = at + 1;
    while (text[at] == '{' && behind < size && text[behind - 1] != '}')
        behind++;
    in->now = after(in->now, (effort){ends, ends});
    in->ends = ends;
    in->ends_at = behind;
    if (text[at] == '{' || !is_of_word(text, size, at))
        return;
    in->closed = before;
    in->closed_at = behind;
    if (ends_word(text, size, behind)) {
        in->now.ways = before;
        in->ends = 1;
    }
}

static bool begins_word(const char *text, size_t size, size_t at)
{
    bool escaped = at + 1 < size && text[at] == '\\' && (text[at + 1] == 'd' || text[at + 1] == 'w');
    return escaped ? !repeats(text, size, at + 2) : trial_one_letter(text, size, at) && text[at] != ' ';
}

/* A word begins with the group that opens at `at`, whichever alternative is taken. Nothing with a class in it
 * is looked into. */
static bool group_begins_word(const char *text, size_t size, size_t at)
{
    bool all = begins_word(text, size, at + 1);
    size_t i = at + 1;
    for (int depth = 1; i < size && depth > 0 && all; i++) {
        if (text[i] == '\\')
            i++;
        else if (text[i] == '|' && depth == 1)
            all = begins_word(text, size, i + 1);
        else
            depth += text[i] == '(' ? 1 : text[i] == ')' ? -1 : 0;
        all = all && (i >= size || text[i] != '[');
    }
    return all && i < size && !repeats(text, size, i);
}

/* The `\\b` at `at`: where a word must begin behind a repeat, that is at every second of its ends at most. */
static void boundary(group *in, const char *text, size_t size, size_t at)
{
    size_t next = at + 2;
    bool opens = next < size && text[next] == '(';
    if (in->ends_at == at && at > 0 &&
        (opens ? group_begins_word(text, size, next) : begins_word(text, size, next)))
        in->now.ways *= ceil(in->ends / 2) / in->ends;
}

/* What a repeat leaves of a group that matches nothing: the way around it, if it may be left out. */
static bool leaves_out(const char *text, size_t size, size_t at)
{
    return text[at] == '?' || text[at] == '*' ||
           (text[at] == '{' && at + 1 < size && (text[at + 1] == '0' || text[at + 1] == ','));
}

/* What has been read of a pattern. */
typedef struct reading {
    const char *text;
    size_t size;
    group groups[DEEP];
    size_t depth;
    size_t closed_at; /* behind the last group that was closed */
} reading;

static bool open_group(reading *in, size_t *at)
{
    const effort before = in->groups[in->depth].now;
    if (!plain_group(in->text, *at, in->size) || ++in->depth == DEEP)
        return false;
    group *opened = &in->groups[in->depth];
    *at += in->text[*at + 1] == '?' ? 2 : 0;
    opened->once = in->text[*at] != '(' && in->text[*at] != ':';
    opened->refuses = opened->once && refusing_group(in->text, *at, in->size);
    opened->before = before;
    opened->steps = opened->count = 0;
    begin_alternative(opened, *at + 1);
    return true;
}

static bool close_alternative(reading *in, size_t at)
{
    group *closed = &in->groups[in->depth];
    if (!end_alternative(closed, in->text, in->size, at))
        return false;
    begin_alternative(closed, at + 1);
    if (in->text[at] == '|' || in->depth == 0)
        return true;
    effort whole = whole_group(closed, ends_word(in->text, in->size, at + 1));
    if (closed->refuses || (closed->once && whole.ways > 1))
        whole.ways = 1;
    in->groups[--in->depth].now = after(closed->before, whole);
    in->closed_at = at + 1;
    return true;
}

static void read_repeat(reading *in, size_t at)
{
    group *here = &in->groups[in->depth];
    if (in->closed_at == at && here->now.ways == 0 && leaves_out(in->text, in->size, at)) {
        /* NOLINTNEXTLINE: of the group that was closed here */
        here->now.ways = in->groups[in->depth + 1].before.ways;
        return;
    }
    double ends = in->text[at] == '?' ? 2 : repeat_ends(in->text, at, in->size);
    if (in->text[at] != '?' && at > 0 && in->text[at - 1] == ')')
        ends = INFINITY;
    repeat(here, in->text, in->size, at, ends);
}

/* One piece; at is left on its last byte. False: it is not looked into. */
static bool read_piece(reading *in, size_t *at)
{
    group *here = &in->groups[in->depth];
    switch (in->text[*at]) {
    case '\\':
        if (ends_word(in->text, in->size, *at))
            boundary(here, in->text, in->size, *at);
        return plain_escape(in->text, ++*at, in->size);
    case '[': {
        const size_t end = trial_class_end(in->text, *at, in->size);
        *at = end - 1;
        return end <= in->size;
    }
    case '(':
        return open_group(in, at);
    case '|':
    case ')':
        return close_alternative(in, *at);
    case '{':
        read_repeat(in, *at);
        while (*at + 1 < in->size && in->text[*at + 1] != '\0' &&
               strchr("0123456789, ", in->text[*at + 1]) != NULL)
            ++*at; /* how often, no letters */
        return true;
    default:
        if (repeats(in->text, in->size, *at))
            read_repeat(in, *at);
        return true;
    }
}

/* Past what nothing can reach any more: to the end of the alternative that `at` stands in. False: it is not
 * looked into. */
static bool skip_dead(const reading *in, size_t *at)
{
    size_t depth = 0, i = *at;
    for (; i < in->size; i++) {
        const char here = in->text[i];
        if (here == '\\') {
            if (!plain_escape(in->text, ++i, in->size))
                return false;
        } else if (here == '[') {
            i = trial_class_end(in->text, i, in->size) - 1;
        } else if (here == '(') {
            if (!plain_group(in->text, i, in->size))
                return false;
            depth++;
        } else if (here == ')' || here == '|') {
            if (depth == 0)
                break;
            depth -= here == ')';
        }
    }
    *at = i;
    return i <= in->size;
}

double effort_steps(const char *text, size_t size)
{
    reading in; /* large, so that what is not used is left alone */
    in.text = text;
    in.size = size;
    in.depth = in.closed_at = 0;
    in.groups[0].steps = in.groups[0].count = 0;
    in.groups[0].refuses = in.groups[0].once = false;
    begin_alternative(&in.groups[0], 0);
    for (size_t i = 0; i < size; i++) {
        group *here = &in.groups[in.depth];
        if (here->now.ways == 0 && !(in.closed_at == i && repeats(text, size, i))) {
            if (!skip_dead(&in, &i))
                return INFINITY;
            if (i == size)
                break;
        }
        if (!is_letter(text, size, i)) {
            if (!read_piece(&in, &i))
                return INFINITY;
        } else if (never_beside(text, size, i)) {
            here->now.ways = 0;
        }
    }
    return in.depth == 0 && end_alternative(in.groups, text, size, size) ? whole_group(in.groups, false).steps
                                                                         : INFINITY;
}
