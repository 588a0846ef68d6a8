/* The unit in hand: offered when an identification is sure enough of one, or said by whoever knows it. */
#include "screen/screen.h"
#include "talk/inside.h"
#include <stdio.h>
#include <string.h>

/* NULL when nobody has said it. */
static const cw_given *in_hand(const talk_state *talk)
{
    const cw_given *given;
    size_t count;
    if (cw_session_answers(talk->session, &given, &count) != CW_OK)
        return NULL;
    for (size_t i = 0; i < count; i++)
        if (given[i].kind == CW_ANSWER_UNIT)
            return &given[i];
    return NULL;
}

const char *talk_next_stage(const talk_state *talk)
{
    const char *stage = cw_session_stage(talk->session);
    const cw_given *unit = in_hand(talk);
    return strcmp(stage, "identify") == 0 && unit != NULL && !unit->cant_tell ? "triage" : stage;
}

static talk_turn take(talk_state *talk, const char *name)
{
    const char *other;
    const cw_check_info *check = cw_pack_check(talk->pack, "unit", NULL);
    talk_turn turn = talk_give(talk, check, name, NULL, &other);
    if (turn == TURN_GO_ON)
        screen_say("  ", "Unit in hand: %s.", in_hand(talk)->shown);
    return turn;
}

talk_turn talk_unit(talk_state *talk, const char *name)
{
    const cw_given *unit = in_hand(talk);
    if (name[0] != '\0')
        return take(talk, name);
    if (unit != NULL)
        screen_say("  ", "Unit in hand: %s.", unit->shown);
    else
        screen_words(
            "  ", "Nobody has said yet which unit it is. Say it by its name or title: unit and the name; or: "
                  "unit not listed.");
    return TURN_AGAIN;
}

talk_turn talk_offer_unit(talk_state *talk)
{
    char question[400], chance[16];
    const char *other;
    identified found;
    if (!setup_identified(talk->setup, &found))
        return TURN_GO_ON;
    snprintf(question, sizeof question, "By what was told %s%s (%s). Take that as the unit in hand?",
             found.unlisted ? "no pack lists it" : "it is ", found.title,
             screen_chance(found.probability, chance));
    screen_line();
    talk_turn turn = talk_confirm(question, &other);
    if (turn == TURN_GO_ON)
        return take(talk, found.name);
    if (turn != TURN_AGAIN)
        return turn;
    if (other != NULL)
        take(talk, other);
    return TURN_GO_ON;
}
