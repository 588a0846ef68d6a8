#include "model/model.h"
#include <math.h>
#include <string.h>

cw_status cw_reading_take(const cw_model *model, const cw_reading *reading, const char *text, bool *found,
                          double *number)
{
    size_t start, end;
    const cw_status status =
        cw_pattern_catch(model->patterns[reading->pattern], text, strlen(text), found, &start, &end);
    if (status != CW_OK || !*found)
        return status;
    const cw_parsed parsed = cw_quantity_parse_as(text + start, end - start, reading->dimension);
    *number = parsed.base;
    if (parsed.unit == NULL && reading->unit != NULL)
        *number = cw_to_base(reading->unit, parsed.number);
    const bool fits = parsed.unit == NULL || cw_dimension_equal(parsed.unit->dimension, reading->dimension);
    *found = parsed.error == CW_READING_OK && fits && isfinite(*number) &&
             cw_interval_holds(reading->range, *number, 0) == CW_YES;
    return CW_OK;
}
