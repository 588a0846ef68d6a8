/* The checker: works out the facts of a case from the packs' YAML and the answers alone, the slow and obvious
 * way. It shares no code with the engine: own reading of YAML (libyaml) and of quantities, own conditions,
 * own layers, own formulas. Rules are not compiled; each condition is walked again on the text, for each
 * thing, round after round, until nothing changes.
 *
 * Good packs only: what the engine refuses, this may misread. */
#ifndef CW_TESTS_CHECKER_H
#define CW_TESTS_CHECKER_H

#include <stdbool.h>
#include <stddef.h>

typedef struct checker checker;

typedef enum checker_truth { CHECKER_NO, CHECKER_DOUBTFUL, CHECKER_YES } checker_truth;
typedef enum checker_known { CHECKER_UNKNOWN, CHECKER_KNOWN, CHECKER_MAYBE, CHECKER_CONFLICT } checker_known;

/* Reads the folders and the packs they need, looked for beside them. Ends the program with a message when it
 * cannot. */
checker *checker_open(const char *const *folders, size_t count);
/* One pack from a text. */
checker *checker_open_text(const char *text);
void checker_free(checker *checker);

/* An answer as it is typed: a value's name or title, a quantity, a text, "can't tell". The tool decides the
 * reading error (NULL: the first one). False when it cannot be understood. */
bool checker_answer(checker *checker, const char *fact, const char *text, const char *tool);
void checker_withdraw(checker *checker, const char *fact);
/* Works everything out afresh. */
void checker_derive(checker *checker);

checker_truth checker_value(const checker *checker, const char *fact, const char *value);
checker_known checker_number(const checker *checker, const char *fact, double *number, double *error);
/* The fact has a source that says just this. Which of several that agree counts hangs on how near the answers
 * they are: that is the engine's own affair and tested in tests/chain. */
bool checker_has_source(const checker *checker, const char *fact, double number, double error);
checker_truth checker_caution(const checker *checker, const char *caution);
/* A condition of the packs: ("checks", "brush_gap[b1]", "only_if"), ("causes", "diode_open", "ruled_out_by").
 * YES when there is none. */
checker_truth checker_condition(const checker *checker, const char *section, const char *name,
                                const char *key);

/* What was answered, as read: the kind tells which part counts. */
typedef struct checker_reading {
    enum { CHECKER_NOTHING, CHECKER_CANT_TELL, CHECKER_CHOICE, CHECKER_NUMBER, CHECKER_TEXT } kind;
    const char *value;
    double number, error;
} checker_reading;
checker_reading checker_read(const checker *checker, const char *fact);

/* All that holds, a line "fact=value" each, doubtful ones with a "?" behind, sorted; the caller frees the
 * lines and the list (with free). */
char **checker_lines(const checker *checker, size_t *count);

#endif
