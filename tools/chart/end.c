/* What an end of the chart says: what it is, what else it could be, what to do first, with which caution. */
#include "chart/page.h"
#include "chart/tree.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HARD "\xC2\xA0"  /* a blank that does not break */
#define OTHER_LEAST 0.10 /* chance from which what else it could be is named */

const char *chart_minutes(double minutes, char *buffer)
{
    if (minutes < 0.995)
        snprintf(buffer, 24, "%.0f" HARD "s", minutes * 60);
    else if (minutes < 9.95 && fabs(minutes - round(minutes)) > 0.05)
        snprintf(buffer, 24, "%.1f" HARD "min", minutes);
    else
        snprintf(buffer, 24, "%.0f" HARD "min", minutes);
    return buffer;
}

static void first_of(const cw_ranking *ranking, const char **id, double *chance)
{
    const double beside = ranking->of_units ? ranking->not_listed : ranking->nothing_found;
    *id = "";
    *chance = 0;
    if (ranking->stopped || !ranking->possible)
        return;
    *id = ranking->of_units ? "not_listed" : "nothing_found";
    *chance = beside;
    if (ranking->count > 0 && ranking->lines[0].probability >= beside) {
        *id = ranking->lines[0].id;
        *chance = ranking->lines[0].probability;
    }
}

cw_status chart_leader(const chart_tree *tree, const char **id, double *chance)
{
    const cw_ranking *ranking;
    cw_status status = cw_session_lines(tree->session, &ranking);
    if (status == CW_OK)
        first_of(ranking, id, chance);
    return status;
}

static const char *title_of(const chart_tree *tree, const char *id)
{
    if (strcmp(id, "not_listed") == 0)
        return "A unit in no list";
    if (strcmp(id, "nothing_found") == 0)
        return "Nothing that is listed is wrong";
    const char *title =
        tree->of_units ? cw_pack_unit_title(tree->pack, id) : cw_pack_cause_title(tree->pack, id);
    return title != NULL ? title : id;
}

/* The likeliest beside the leader. */
static char *say_other(const cw_ranking *ranking, const char *leader)
{
    for (size_t i = 0; i < ranking->count; i++) {
        const cw_line *line = &ranking->lines[i];
        if (strcmp(line->id, leader) == 0)
            continue;
        if (ranking->of_units && ranking->not_listed > line->probability && strcmp(leader, "not_listed") != 0)
            break;
        return line->probability >= OTHER_LEAST ? page_format("If not: %s.", line->title) : strdup("");
    }
    const bool unlisted = ranking->of_units && strcmp(leader, "not_listed") != 0;
    return strdup(unlisted && ranking->not_listed >= OTHER_LEAST ? "If not: a unit in no list." : "");
}

static char *say_look(const char *how, const cw_check_info *check, const char *place, double minutes)
{
    char buffer[24];
    return page_format("%s: %s (%s, %s).", how, check->title, place, chart_minutes(minutes, buffer));
}

static char *say_parts(const cw_plan_line *plan)
{
    char *text = NULL;
    size_t size;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL)
        return NULL;
    for (size_t i = 0; i < plan->replace_count; i++)
        fprintf(memory, "%s%s", i == 0 ? "Replace: " : ", ", plan->replace[i]);
    if (plan->replace_count > 0)
        fputc('.', memory);
    else if (plan->step_count > 0)
        fputs(plan->steps[0], memory);
    if (fclose(memory) == 0)
        return text;
    free(text);
    return NULL;
}

/* A repair where one is likely enough, else the next look. */
static char *say_act(const cw_ranking *ranking, const cw_next *next, const char *leader, double chance)
{
    const bool goes_on = next->stop == CW_GO_ON && next->count > 0;
    if (!ranking->of_units && chance >= CHART_LIKELY && ranking->plan_count > 0 &&
        strcmp(ranking->plan[0].cause, leader) == 0)
        return say_parts(&ranking->plan[0]);
    if (ranking->of_units && chance >= CHART_SURE) {
        const char *later = ranking->count > 0 ? ranking->lines[0].replaced_by_title : NULL;
        return later != NULL ? page_format("Fitted in its place today: %s.", later) : strdup("");
    }
    if (goes_on)
        return say_look("Look next", next->checks[0].check, next->checks[0].place, next->checks[0].minutes);
    if (next->alike_count > 0 && next->alike[0].tells != NULL)
        return say_look("Only this tells", next->alike[0].tells, next->alike[0].tells_place,
                        next->alike[0].tells_minutes);
    return strdup("");
}

static const char *where_words(const cw_ranking *ranking, const char *leader)
{
    for (size_t i = 0; i < ranking->count && !ranking->of_units; i++)
        if (strcmp(ranking->lines[i].id, leader) == 0)
            return strcmp(ranking->lines[i].where, "unit") == 0 ? "" : "not the unit";
    return "";
}

static bool add_caution(chart_end *out, const char *say)
{
    for (size_t i = 0; i < out->caution_count; i++)
        if (strcmp(out->cautions[i], say) == 0)
            return true;
    if (out->caution_count == sizeof out->cautions / sizeof *out->cautions)
        return true;
    char *copy = strdup(say);
    if (copy != NULL)
        out->cautions[out->caution_count++] = copy;
    return copy != NULL;
}

/* Those raised, and those of the look that is advised. */
static cw_status add_cautions(const chart_tree *tree, const cw_next *next, chart_end *out)
{
    const cw_caution_info *const *raised;
    size_t count;
    cw_status status = cw_session_cautions(tree->session, &raised, &count);
    bool whole = true;
    for (size_t i = 0; status == CW_OK && i < count; i++)
        whole = whole && add_caution(out, raised[i]->say);
    const cw_check_info *look = strncmp(out->act, "Look next", 9) == 0   ? next->checks[0].check
                                : strncmp(out->act, "Only this", 9) == 0 ? next->alike[0].tells
                                                                         : NULL;
    for (size_t i = 0; status == CW_OK && look != NULL && i < look->caution_count; i++)
        whole = whole && add_caution(out, look->cautions[i]->say);
    return whole ? status : CW_NO_MEMORY;
}

static bool say_nothing_first(const cw_ranking *ranking, chart_end *out)
{
    out->head = strdup(ranking->stopped ? "Stop here" : "This fits nothing the packs know");
    out->figure = strdup("");
    out->other = strdup("");
    out->act = strdup(ranking->stopped ? "For qualified people only; local codes come first."
                                       : "Go over the answers once more.");
    return out->head != NULL && out->figure != NULL && out->other != NULL && out->act != NULL;
}

static bool say_first(const chart_tree *tree, const cw_ranking *ranking, const cw_next *next,
                      const char *leader, double chance, chart_end *out)
{
    out->head = strdup(title_of(tree, leader));
    out->figure = strdup(where_words(ranking, leader));
    out->other = say_other(ranking, leader);
    out->act = say_act(ranking, next, leader, chance);
    return out->head != NULL && out->figure != NULL && out->other != NULL && out->act != NULL;
}

cw_status chart_end_of(const chart_tree *tree, const chart_node *node, chart_end *out)
{
    const cw_ranking *ranking;
    const cw_next *next;
    cw_status status = cw_session_next(tree->session, &next);
    if (status == CW_OK)
        status = cw_session_ranking(tree->session, 0, &ranking);
    if (status != CW_OK)
        return status;
    const bool said = node->leader[0] == '\0'
                          ? say_nothing_first(ranking, out)
                          : say_first(tree, ranking, next, node->leader, node->chance, out);
    return said ? add_cautions(tree, next, out) : CW_NO_MEMORY;
}
