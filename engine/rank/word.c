#include "rank/word.h"

#include <math.h>

/* From the least to the most frequent, as in the pack language. */
static const double words[] = {0.01, 0.08, 0.30, 0.60, 0.85, 0.98};
enum { WORDS = sizeof words / sizeof *words };

static double log_odds(double p)
{
    return log(p / (1 - p));
}

static double word_at(int i)
{
    return log_odds(words[i]);
}

double rank_word_off(double frequency, double by)
{
    if (frequency <= 0 || frequency >= 1)
        return frequency;
    const double at = log_odds(frequency);
    int i = 0;
    while (i < WORDS - 2 && at > word_at(i + 1))
        i++;
    const double place = i + (at - word_at(i)) / (word_at(i + 1) - word_at(i)) + by;
    int k = (int)floor(place);
    k = k < 0 ? 0 : k > WORDS - 2 ? WORDS - 2 : k;
    const double to = word_at(k) + (place - k) * (word_at(k + 1) - word_at(k));
    return 1 / (1 + exp(-to));
}
