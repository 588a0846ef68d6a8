/* The first case of a corpus: the signs of what was begun, as answers, with the label that they must come to.
 */
#include "begin/begin.h"
#include "screen/screen.h"
#include "trial/trial.h"
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { MOST = 200 };

/* A frequency as a number; 1 for what is none. */
static double share_of(const char *text)
{
    static const struct {
        const char *word;
        double share;
    } scale[] = {{"always", 0.98},   {"usually", 0.85}, {"often", 0.6},
                 {"sometimes", 0.3}, {"rarely", 0.08},  {"never", 0.01}};
    for (size_t i = 0; i < sizeof scale / sizeof *scale; i++)
        if (strcmp(text, scale[i].word) == 0)
            return scale[i].share;
    char *end;
    double part = strtod(text, &end);
    end += strspn(end, " ");
    if (*end == '%')
        return part / 100;
    double whole = strncmp(end, "of ", 3) == 0 ? strtod(end + 3, NULL) : 0;
    return whole > 0 ? part / whole : 1;
}

static void trim_into(char *to, const char *from, size_t size)
{
    while (size > 0 && *from == ' ') {
        from++;
        size--;
    }
    while (size > 0 && from[size - 1] == ' ')
        size--;
    size = size < MOST ? size : MOST - 1;
    memcpy(to, from, size);
    to[size] = '\0';
}

/* {value: how often, ...}: the commonest of them. */
static double from_map(const char *text, char *out)
{
    double best = 0;
    for (text++; *text != '\0' && *text != '}';) {
        char value[MOST], share[MOST];
        size_t size = strcspn(text, ",}");
        const char *colon = memchr(text, ':', size);
        if (colon == NULL)
            return 0;
        trim_into(value, text, (size_t)(colon - text));
        trim_into(share, colon + 1, size - (size_t)(colon + 1 - text));
        if (strcmp(value, "like") == 0)
            return 0; /* a text cannot be made up */
        if (strcmp(value, "around") == 0) {
            memcpy(out, share, MOST);
            return 1;
        }
        if (share_of(share) > best) {
            best = share_of(share);
            memcpy(out, value, MOST);
        }
        text += size + (text[size] == ',');
    }
    return best;
}

/* What somebody would answer to whom the sign shows, and how often it does; 0: there is no such answer. */
static double answer_of(const begin *all, const char *sign, char *check, char *value)
{
    const char *colon = strstr(sign, ": ");
    trim_into(check, sign, (size_t)(colon - sign));
    const char *text = colon + 2 + strspn(colon + 2, " ");
    if (cw_pack_check(all->pack, check, NULL) == NULL)
        return 0; /* what rules conclude is not answered */
    if (text[0] == '{')
        return from_map(text, value);
    if (text[0] == '[')
        return 0;
    const char *tolerance = strstr(text, "+/-");
    trim_into(value, text, tolerance != NULL ? (size_t)(tolerance - text) : strlen(text));
    return 1;
}

/* Whether a version says something else of the check than its family. */
static bool said_again(const begin *all, size_t from, const char *check)
{
    size_t size = strlen(check);
    for (size_t i = from; i < all->count && (i == from || strcmp(all->words[i].key, "version") != 0); i++)
        if (strcmp(all->words[i].key, "sign") == 0 && strncmp(all->words[i].value, check, size) == 0 &&
            all->words[i].value[size] == ':')
            return true;
    return false;
}

static size_t put_answers(const begin *all, size_t from, size_t to, size_t version, double least, FILE *out)
{
    size_t count = 0;
    for (size_t i = from; i < to; i++) {
        char check[MOST], value[MOST];
        if (strcmp(all->words[i].key, "sign") != 0 ||
            answer_of(all, all->words[i].value, check, value) < least)
            continue;
        if (i < version && version < all->count && said_again(all, version, check))
            continue;
        count++;
        fprintf(out, "  %s: %s\n", check, value);
    }
    return count;
}

/* Those that are there in a third of the jobs or more; for want of such, any. */
static size_t put_all_answers(const begin *all, FILE *out)
{
    size_t version = begin_version(all, 0);
    size_t end = version < all->count ? begin_version(all, version + 1) : all->count;
    size_t count = put_answers(all, 0, end, version, 0.3, out);
    return count > 0 ? count : put_answers(all, 0, end, version, 0.001, out);
}

static void with_hyphens(const char *name, char *out, size_t size)
{
    snprintf(out, size, "%s", name);
    for (; *out != '\0'; out++)
        *out = *out == '_' ? '-' : *out;
}

/* In the corpus, in the folder of the stage where it has one. */
static int place_of(const begin *all, const char *stage, const char *name, char *out)
{
    struct stat about;
    const char *corpus = all->options->corpus;
    int size = snprintf(out, PATH_MAX, "%s/%s", corpus, stage);
    bool staged = size > 0 && size < PATH_MAX && stat(out, &about) == 0 && S_ISDIR(about.st_mode);
    size = snprintf(out, PATH_MAX, "%s/%s%s%s.yaml", corpus, staged ? stage : "", staged ? "/" : "", name);
    if (size > 0 && size < PATH_MAX && stat(out, &about) != 0)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: this case is there already\n", out);
    fputs("help: nothing was written; name another folder with --corpus\n", stderr);
    return EXIT_WRONG;
}

static void put_head(const char *title, const char *name, const char *stage, FILE *out)
{
    fprintf(out, "# %s, made of its own signs by corewright begin: it shows that they hang together.\n",
            title);
    fprintf(out, "# Real jobs prove more; put one in its place.\ncase: %s\nstage: %s\nanswers:\n", name,
            stage);
}

/* What the counter sees of a version, handed down or its own, as the pack has it. */
static size_t put_seen(const cw_pack *pack, const char *version, FILE *out)
{
    cw_unit_sign sign;
    size_t count = 0;
    for (size_t i = 0; cw_pack_unit_sign_at(pack, version, i, &sign); i++) {
        const cw_check_info *check = cw_pack_check(pack, sign.fact, NULL);
        if (check == NULL || sign.value[0] == '\0' || strcmp(check->places[0], "counter") != 0)
            continue;
        count++;
        fprintf(out, "  %s: %s\n", sign.fact, sign.value);
    }
    return count;
}

int begin_make_case(const begin *all, const cw_pack *pack, begin_case *out)
{
    *out = (begin_case){0};
    if (all->options->corpus == NULL)
        return EXIT_DONE;
    bool family = all->kind == BEGIN_FAMILY, of_version = all->kind == BEGIN_VERSION;
    const char *stage = family || of_version ? "identify" : "triage";
    size_t version = begin_version(all, 0);
    const char *label = family ? all->words[version].value : begin_value(all, 0, "name");
    char name[MOST], path[PATH_MAX];
    with_hyphens(label, name, sizeof name);
    int status = place_of(all, stage, name, path);
    if (status != EXIT_DONE)
        return status;
    size_t size;
    FILE *to = open_memstream(&out->text, &size);
    if (to == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    put_head(begin_value(all, family ? version : 0, "title"), name, stage, to);
    size_t count = of_version ? put_seen(pack, label, to) : put_all_answers(all, to);
    fprintf(to, family || of_version ? "outcome: {unit: %s}\n" : "outcome: {causes: [%s]}\n", label);
    fputs("source: made of the signs by corewright begin\n", to);
    bool broken = ferror(to) != 0;
    if (fclose(to) != 0 || broken)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    if (count > 0 && (out->path = strdup(path)) == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    return EXIT_DONE;
}

static void say_outcome(const cw_pack *pack, const begin_case *first, const trial *one)
{
    char chance[16];
    const char *title = trial_title(pack, trial_of_units(one->stage), one->score.truth);
    screen_chance(one->score.truth_said, chance);
    if (trial_held(one)) {
        screen_say("", "First case: %s. It comes out as labelled: %s (%s).", first->path, title, chance);
        return;
    }
    screen_say("", "First case: %s. It does not come out as labelled yet: %s has %s, and %s comes first.",
               first->path, title, chance, trial_title(pack, trial_of_units(one->stage), one->score.first));
    screen_words("", "More signs, or ones that are rarer elsewhere, would tell it apart.");
}

int begin_run_case(const cw_pack *pack, const begin_case *first)
{
    cw_messages *messages = NULL;
    cw_case *job = NULL;
    trial one = {0};
    cw_status status = cw_case_parse(NULL, first->path, first->text, strlen(first->text), &messages, &job);
    if (status == CW_OK)
        trial_run(pack, job, &one, NULL);
    int exit_status = explain_status(status, first->path, messages);
    if (exit_status == EXIT_DONE && one.status != CW_OK)
        exit_status = explain_status(one.status, first->path, NULL);
    if (exit_status == EXIT_DONE && one.end == TRIAL_DONE)
        say_outcome(pack, first, &one);
    else if (exit_status == EXIT_DONE)
        exit_status = explain_status(CW_BAD_INPUT, first->path, one.messages);
    trial_free(&one);
    cw_case_free(job);
    cw_messages_free(messages);
    return exit_status;
}
