/* Names that are told in somebody's own words: by name, by title, or by a part of either. */
#include "begin/ask.h"
#include "screen/screen.h"
#include <stdint.h>
#include <string.h>

enum { MOST_SHOWN = 24 };

bool begin_part_named(const begin *all, size_t index, const char **name, const char **title)
{
    cw_part_entry part;
    if (!cw_pack_part_at(all->pack, index, &part))
        return false;
    *name = part.name;
    *title = part.title;
    return true;
}

bool begin_caution_named(const begin *all, size_t index, const char **name, const char **title)
{
    cw_caution_info caution;
    if (!cw_pack_caution_at(all->pack, index, &caution))
        return false;
    *name = caution.name;
    *title = caution.say;
    return true;
}

static bool unit_named(const begin *all, size_t index, const char **name, const char **title)
{
    cw_unit_entry unit;
    if (!cw_pack_unit_at(all->pack, index, &unit))
        return false;
    *name = unit.name;
    *title = unit.title;
    return true;
}

static bool has_versions(const begin *all, size_t index)
{
    cw_unit_entry unit;
    return cw_pack_unit_at(all->pack, index, &unit) && begin_takes_versions(all->pack, unit.name);
}

static void list(const begin *all, begin_named at, begin_fits fits, const char *words, size_t count)
{
    const char *name, *title;
    for (size_t i = 0, shown = 0; shown <= MOST_SHOWN && at(all, i, &name, &title); i++) {
        if ((fits != NULL && !fits(all, i)) ||
            (!begin_has_letters(name, words) && !begin_has_letters(title, words)))
            continue;
        if (shown++ == MOST_SHOWN)
            screen_say("  ", "... and %zu more; more of the word finds them", count - MOST_SHOWN);
        else
            screen_pair(name, 26, title);
    }
}

size_t begin_look_up(const begin *all, begin_named at, begin_fits fits, const char *words)
{
    const char *name, *title;
    size_t found = SIZE_MAX, count = 0;
    for (size_t i = 0; at(all, i, &name, &title); i++) {
        if (begin_same_letters(name, words) || begin_same_letters(title, words))
            return i;
        if ((fits == NULL || fits(all, i)) &&
            (begin_has_letters(name, words) || begin_has_letters(title, words))) {
            found = i;
            count++;
        }
    }
    if (count == 1)
        return found;
    if (count == 0)
        screen_say("  ", "Nothing here is called %s.", words);
    else
        list(all, at, fits, words, count);
    return SIZE_MAX;
}

static bool pick_one(const begin *all, begin_named at, begin_fits fits, const char *words, char *out)
{
    const char *name, *title;
    size_t found = begin_look_up(all, at, fits, words);
    if (found == SIZE_MAX || !at(all, found, &name, &title))
        return false;
    screen_tone(TONE_STRONG, "  ", title);
    snprintf(out, LINE, "%s", name);
    return true;
}

/* One or several, commas between. */
static bool pick_each(const begin *all, begin_named at, char *line)
{
    char names[LINE] = "", words[LINE], name[LINE];
    size_t filled = 0;
    for (const char *from = line; *from != '\0';) {
        size_t size = strcspn(from, ","), blanks = strspn(from, " ");
        size_t end = size;
        while (end > blanks && from[end - 1] == ' ')
            end--;
        snprintf(words, sizeof words, "%.*s", (int)(end > blanks ? end - blanks : 0), from + blanks);
        if (words[0] == '\0' || !pick_one(all, at, NULL, words, name))
            return false;
        int wrote = snprintf(names + filled, sizeof names - filled, "%s%s", filled > 0 ? ", " : "", name);
        if (wrote < 0 || (size_t)wrote >= sizeof names - filled)
            return false;
        filled += (size_t)wrote;
        from += size + (from[size] == ',');
    }
    memcpy(line, names, sizeof names);
    return true;
}

bool begin_pick(const begin *all, const begin_question *question, char *line)
{
    char name[LINE];
    switch (question->form) {
    case FORM_PART:
    case FORM_ABOVE:
        if (!pick_one(all, question->form == FORM_PART ? begin_part_named : unit_named,
                      question->form == FORM_PART ? NULL : has_versions, line, name))
            return false;
        memcpy(line, name, sizeof name);
        return true;
    case FORM_PARTS:
        return pick_each(all, begin_part_named, line);
    case FORM_CAUTIONS:
        return pick_each(all, begin_caution_named, line);
    default:
        return true;
    }
}
