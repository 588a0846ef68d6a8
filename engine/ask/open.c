/* May the check be asked now, and where? Nothing is asked twice, and nothing that is known already. */
#include "ask/inside.h"

static bool concluded(const cw_chain *chain, cw_fact_id fact)
{
    double number = 0, error = 0;
    uint32_t value = 0;
    cw_known known = CW_UNKNOWN;
    switch (cw_chain_model(chain)->facts[fact].kind) {
    case CW_MEASURE:
        known = cw_chain_number(chain, fact, &number, &error);
        break;
    case CW_STAMPED: /* no rule concludes a text, or which unit it is */
    case CW_WHICH_UNIT:
        break;
    case CW_YES_OR_NO:
    case CW_CHOICE:
    case CW_COUNT:
        known = cw_chain_value(chain, fact, &value);
        break;
    }
    return known == CW_KNOWN || known == CW_CONFLICT;
}

bool ask_unanswered(const cw_chain *chain, cw_check_id check, cw_stage stage)
{
    const cw_check *c = &cw_chain_model(chain)->checks[check];
    return cw_chain_answered(chain, c->fact) == NULL && ask_unknown(chain, check, stage);
}

bool ask_unknown(const cw_chain *chain, cw_check_id check, cw_stage stage)
{
    const cw_check *c = &cw_chain_model(chain)->checks[check];
    const cw_answer *answer = cw_chain_answered(chain, c->fact);
    return (stage == CW_STAGE_COUNT || (c->stages & (1u << stage)) != 0) &&
           (answer == NULL || answer->cant_tell) && !concluded(chain, c->fact);
}

bool ask_place(const cw_model *model, cw_check_id check, uint32_t places, cw_where here, cw_proposal *out)
{
    const cw_check *c = &model->checks[check];
    uint32_t allowed = places == 0 ? c->places : c->places & places;
    if (allowed == 0)
        return false;
    const double *reach = model->costs.reach;
    cw_where place = CW_WHERE_COUNT;
    for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT; w++)
        if ((allowed & (1u << w)) != 0 &&
            (place == CW_WHERE_COUNT || w == here || (place != here && reach[w] < reach[place])))
            place = w;
    *out = (cw_proposal){.check = check,
                         .place = place,
                         .opens = place == CW_AT_TEARDOWN && here != CW_AT_TEARDOWN,
                         .minutes = c->minutes + (place == here ? 0 : reach[place]),
                         .expected = -1};
    return true;
}

bool cw_ask_open(const cw_chain *chain, cw_check_id check, const cw_ask_limits *limits)
{
    const cw_model *model = cw_chain_model(chain);
    cw_atom_id only_if = model->checks[check].only_if;
    uint32_t places = model->checks[check].places;
    return (limits->places == 0 || (limits->places & places) != 0) &&
           (only_if == 0 || cw_chain_truth(chain, only_if) != CW_NO) &&
           ask_unanswered(chain, check, limits->stage);
}
