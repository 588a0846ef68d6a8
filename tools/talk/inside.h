/* What the files of the conversation share. */
#ifndef TOOLS_TALK_INSIDE_H
#define TOOLS_TALK_INSIDE_H

#include "screen/input.h"
#include "setup/setup.h"

/* One answer that can be taken back: what stood there before. */
typedef struct undo_step {
    char *check;
    char *value, *tool, *place; /* NULL: it had not been answered */
    size_t number;              /* of the question that it answered */
} undo_step;

typedef struct talk_state {
    const job_setup *setup;
    const cw_pack *pack;
    cw_session *session;
    char *complaint; /* NULL when nothing was said */
    undo_step *undos;
    size_t undo_count;
    const cw_check_info *wanted; /* to be asked next, whatever the advice is */
    char *conflicts_shown, *cautions_shown,
        *alike_shown; /* names, so that each is shown once while it stands */
    bool shown;       /* the state has been shown since it last changed */
    bool describing;  /* that no list has it, and questions go on for the description, has been said */
    bool explained;   /* that the figures of causes need not add up has been said */
    size_t asked;     /* number of the last question */
    int exit_status;  /* the worst so far */
} talk_state;

/* How a turn ended. */
typedef enum talk_turn {
    TURN_GO_ON,   /* something changed, or another question is wanted */
    TURN_AGAIN,   /* the same question once more */
    TURN_DONE,    /* the person wants the end */
    TURN_EOF,     /* no more input */
    TURN_STOPPED, /* Ctrl-C */
    TURN_FAILED   /* exit_status says how */
} talk_turn;

/* talk_words.c: the customer's own words, each suggestion confirmed. */
talk_turn talk_words(talk_state *talk);
/* talk_ask.c: one question, until it is answered or left. next may be NULL (a question that was wanted);
 * worth: what it saves, NULL where that is not known. */
talk_turn talk_ask(talk_state *talk, const cw_check_info *check, const cw_next_check *next,
                   const char *worth);
/* talk_unit.c: what the answers are sure enough of, offered as the unit in hand. TURN_GO_ON whatever is said
 * to it. */
talk_turn talk_offer_unit(talk_state *talk);
/* `unit NAME`; without a name, which one it is. */
talk_turn talk_unit(talk_state *talk, const char *name);
/* Where the job goes on: once the unit is known, identifying is over. */
const char *talk_next_stage(const talk_state *talk);
/* talk_command.c: what can be said at any question. True when the line was a command; *out is how it ended.
 */
bool talk_command(talk_state *talk, const char *line, const cw_check_info *check, const cw_next_check *next,
                  talk_turn *out);
void talk_help(void);

/* talk_give.c: gives an answer as typed, keeps what stood before, saves. TURN_GO_ON when it was taken. When
 * it is unclear and something was most likely meant, the person is asked; what is said instead comes back in
 * *other (TURN_AGAIN). */
talk_turn talk_give(talk_state *talk, const cw_check_info *check, const char *text, const char *place,
                    const char **other);
talk_turn talk_back(talk_state *talk);
/* Yes (TURN_GO_ON), no (TURN_AGAIN) or something else, then in *other. */
talk_turn talk_confirm(const char *question, const char **other);
talk_turn talk_read(const char *prompt, const char **line);
talk_turn talk_status(talk_state *talk, cw_status status);
void talk_save(talk_state *talk);

#endif
