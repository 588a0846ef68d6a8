/* Makes up a text that a pattern matches: reads the pattern as written and puts down the least that each
 * piece asks for. The pattern itself is the judge: a text that it does not match is thrown away and the next
 * variant tried. Back references, conditions and the like are given up on.
 *
 *   choice -> sequence ('|' sequence)*    sequence -> (atom quantifier?)*
 *   atom -> literal | '.' | class | escape | group | '^' | '$' */
#include "ask/inside.h"

#include <ctype.h>
#include <limits.h>
#include <string.h>

enum { VARIANTS = 8, DEEPEST = 24, STEPS = 20000 };
#define NONE UINT_MAX

typedef struct maker {
    const char *at; /* in the pattern */
    char *out;
    size_t size, room;
    unsigned variant; /* odd: what is optional is put down too; half of it: which of several alternatives */
    unsigned deep, steps;
    bool apart;  /* a word ended here: what follows must not grow on to it */
    bool silent; /* reads without putting anything down */
    bool failed;
} maker;

static void choice(maker *m);

static bool word(char c)
{
    return isalnum((unsigned char)c) || c == '_';
}

static void put(maker *m, char c)
{
    if (m->silent)
        return;
    bool blank = m->apart && m->size > 0 && word(c) && word(m->out[m->size - 1]);
    m->apart = false;
    if (m->size + 2 >= m->room) {
        m->failed = true;
        return;
    }
    if (blank)
        m->out[m->size++] = ' ';
    m->out[m->size++] = c;
}

/* The set of ASCII characters that an escaped letter stands for. */
static void escaped(char letter, bool *set)
{
    for (int c = ' '; c < 127; c++) {
        bool in = false;
        switch (tolower((unsigned char)letter)) {
        case 'd':
            in = isdigit(c) != 0;
            break;
        case 'w':
            in = word((char)c);
            break;
        default:
            in = isspace(c) != 0;
            break;
        }
        set[c] |= isupper((unsigned char)letter) ? !in : in;
    }
}

static void put_from(maker *m, const bool *set)
{
    static const char liked[] = "1AX0 -/.";
    for (const char *c = liked; *c != '\0'; c++)
        if (set[(unsigned char)*c]) {
            put(m, *c);
            return;
        }
    for (int c = ' '; c < 127; c++)
        if (set[c]) {
            put(m, (char)c);
            return;
        }
    m->failed = true;
}

static void escape(maker *m)
{
    bool set[128] = {false};
    char c = *m->at;
    if (c == '\0') {
        m->failed = true;
        return;
    }
    m->at++;
    if (strchr("dDwWsS", c) != NULL) {
        escaped(c, set);
        put_from(m, set);
    } else if (c == 'b') {
        m->apart = m->apart || !m->silent;
    } else if (strchr("BAzZG", c) == NULL) {
        if (word(c))
            m->failed = true;
        put(m, c);
    }
}

/* [...], after the bracket. */
static void one_of(maker *m)
{
    bool set[128] = {false}, other = *m->at == '^';
    m->at += other ? 1 : 0;
    for (bool first = true; *m->at != '\0' && (first || *m->at != ']'); first = false) {
        unsigned char low = (unsigned char)*m->at++;
        if (low == '\\' && *m->at != '\0') {
            low = (unsigned char)*m->at++;
            if (strchr("dDwWsS", low) != NULL) {
                escaped((char)low, set);
                continue;
            }
        }
        unsigned char high = low;
        if (m->at[0] == '-' && m->at[1] != ']' && m->at[1] != '\0' && m->at[1] != '\\') {
            high = (unsigned char)m->at[1];
            m->at += 2;
        }
        for (unsigned c = low; c <= high && c < 128; c++)
            set[c] = true;
    }
    m->failed |= *m->at != ']';
    m->at += *m->at == ']' ? 1 : 0;
    for (int c = ' '; other && c < 127; c++)
        set[c] = !set[c];
    put_from(m, set);
}

/* (...), after the bracket. What is looked for further on is put down here, apart; what must not be there is
 * passed over. */
static void group(maker *m)
{
    bool silent = m->silent, ahead = false;
    if (*m->at == '?') {
        m->at++;
        bool behind = *m->at == '<' && (m->at[1] == '=' || m->at[1] == '!');
        m->at += behind ? 1 : 0;
        if (*m->at == '=' || *m->at == '!') {
            m->silent |= *m->at == '!' || behind;
            ahead = true;
        } else if (*m->at != ':') {
            m->failed = true;
        }
        m->at += *m->at != '\0' ? 1 : 0;
    }
    choice(m);
    m->failed |= *m->at != ')';
    m->at += *m->at == ')' ? 1 : 0;
    m->silent = silent;
    m->apart |= ahead && !silent;
}

static void atom(maker *m)
{
    char c = *m->at++;
    m->failed |= ++m->steps > STEPS;
    switch (c) {
    case '\\':
        escape(m);
        break;
    case '[':
        one_of(m);
        break;
    case '(':
        group(m);
        break;
    case '.':
        put(m, '1');
        break;
    case '^':
    case '$':
        break;
    default:
        put(m, c);
        break;
    }
}

/* How often at least; moves past the quantifier. */
static unsigned least(maker *m)
{
    unsigned times = 1;
    if (*m->at == '*' || *m->at == '?') {
        times = m->variant & 1u;
        m->at++;
    } else if (*m->at == '+') {
        m->at++;
    } else if (*m->at == '{' && isdigit((unsigned char)m->at[1])) {
        for (times = 0, m->at++; isdigit((unsigned char)*m->at) && times < 1000; m->at++)
            times = times * 10 + (unsigned)(*m->at - '0');
        const char *end = strchr(m->at, '}');
        m->failed |= end == NULL;
        m->at = end == NULL ? m->at : end + 1;
    } else {
        return 1;
    }
    m->at += *m->at == '?' || *m->at == '+' ? 1 : 0;
    return times;
}

static void sequence(maker *m)
{
    while (!m->failed && *m->at != '\0' && *m->at != '|' && *m->at != ')') {
        const char *start = m->at;
        bool silent = m->silent, apart = m->apart;
        m->silent = true;
        atom(m);
        m->silent = silent;
        m->apart = apart;
        unsigned times = least(m);
        const char *end = m->at;
        for (unsigned i = 0; i < times && !m->failed && !silent; i++) {
            m->at = start;
            atom(m);
        }
        m->at = end;
    }
}

/* Goes over the alternatives, the wanted one aloud; returns how many there are. */
static unsigned alternatives(maker *m, unsigned wanted)
{
    bool silent = m->silent;
    unsigned count = 0;
    for (bool more = true; more && !m->failed; count++) {
        m->silent = silent || count != wanted;
        sequence(m);
        more = *m->at == '|';
        m->at += more ? 1 : 0;
    }
    m->silent = silent;
    return count;
}

static void choice(maker *m)
{
    const char *start = m->at;
    m->failed |= ++m->deep > DEEPEST;
    unsigned count = alternatives(m, NONE);
    if (!m->silent && !m->failed) {
        m->at = start;
        alternatives(m, m->variant / 2 % count);
    }
    m->deep--;
}

cw_status ask_sample(const cw_pattern *pattern, char *out, size_t size, bool *found)
{
    *found = false;
    for (unsigned variant = 0; variant < VARIANTS && !*found; variant++) {
        maker m = {.at = cw_pattern_text(pattern), .out = out, .room = size, .variant = variant};
        choice(&m);
        out[m.size] = '\0';
        if (m.failed || *m.at != '\0' || m.size == 0)
            continue;
        cw_status status = cw_pattern_match(pattern, out, m.size, found, NULL, NULL);
        if (status == CW_NO_MEMORY)
            return status;
        *found = *found && status == CW_OK;
    }
    return CW_OK;
}
