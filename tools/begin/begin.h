/* begin: a first family, a further version of one, a cause or check, put into a pack in that pack's own
 * style.
 *
 * What is to be written is a list of words KEY=VALUE in the order they were told, whether on the command line
 * or question by question. Words behind `version=NAME` belong to that version, as far as a version has such a
 * key. Nothing is written before the pack has been checked with the change in it. */
#ifndef TOOLS_BEGIN_BEGIN_H
#define TOOLS_BEGIN_BEGIN_H

#include "begin/layout.h"
#include "setup/setup.h"
#include <stdio.h>

typedef enum begin_kind { BEGIN_FAMILY, BEGIN_VERSION, BEGIN_CAUSE, BEGIN_CHECK, BEGIN_KINDS } begin_kind;

/* What kind of words a question takes. */
typedef enum begin_form {
    FORM_NAME,      /* of the family, cause or check itself, or of a version: new */
    FORM_WORDS,     /* what people read */
    FORM_YAML,      /* as it stands in the file: ranges, figures, choices */
    FORM_FREQUENCY, /* 3 of 100, 85 %, or a word of the scale */
    FORM_WHOLE,     /* a whole number from 1 */
    FORM_NUMBER,    /* above 0 */
    FORM_PART,
    FORM_PARTS, /* one or several, commas between */
    FORM_PLACES,
    FORM_STAGES,
    FORM_ANSWER,   /* what a check gives */
    FORM_CHOICES,  /* names, or the words people read, commas between */
    FORM_CAUTIONS, /* names, commas between */
    FORM_ABOVE,    /* a family, or a frame of one, that has versions */
    FORM_SIGN,     /* CHECK: VALUE */
    FORM_DATUM     /* the same, where it is so for certain */
} begin_form;

typedef enum begin_need { NEED_MUST, NEED_MAY, NEED_ANY } begin_need; /* ANY: none, one or several */

typedef struct begin_question {
    begin_kind kind;
    bool of_version; /* belongs to a version of the family */
    const char *key;
    begin_need need;
    begin_form form;
    const char *only; /* asked where answer= says this; NULL: always */
    const char *ask, *explain;
} begin_question;
extern const begin_question begin_questions[];
extern const size_t begin_question_count;

typedef struct begin_word {
    char *key, *value; /* owned */
} begin_word;

/* A question that was asked, and whether a word came of it. */
typedef struct begin_step {
    const begin_question *question;
    bool told;
} begin_step;

typedef struct begin {
    const cli_options *options;
    begin_kind kind;
    char *folder;  /* owned; without a slash at its end */
    cw_pack *pack; /* as it was found */
    begin_word *words;
    size_t count;
    bool asked;       /* somebody sits there and is asked */
    begin_step *past; /* owned; the questions so far */
    size_t past_count;
    const begin_question *next; /* NULL: none is open */
} begin;

/* Words. */
/* Adds a word; false when memory is out. */
bool begin_add(begin *all, const char *key, const char *value);
/* Forgets the last word. */
void begin_drop_last(begin *all);
/* The value of the first word with this key from `from` on and before the next version; NULL. */
const char *begin_value(const begin *all, size_t from, const char *key);
/* The index of the first word version= at or behind `from`; count when there is none. */
size_t begin_version(const begin *all, size_t from);
/* The question that a key answers; NULL. */
const begin_question *begin_find_question(begin_kind kind, bool of_version, const char *key);
/* Takes KEY=VALUE from the command line. Exit status, the reason on standard error. */
int begin_take(begin *all);
/* The command that says the same again, for whoever wants to mend one word. */
void begin_print_command(const begin *all, FILE *to);
void begin_free_words(begin *all);

/* What is wrong with a value, on standard error, or on the screen where somebody is asked; true when nothing
 * is. */
bool begin_check_value(const begin *all, const begin_question *question, const char *value);
/* The fact of that name: its index, or none (SIZE_MAX) with the nearest name. */
size_t begin_fact(const cw_pack *pack, const char *name, const char **nearest);
bool begin_is_frequency(const char *text);
bool begin_is_name(const char *text);
/* A name made of words: small letters and digits as they are, _ for all between them. */
void begin_name_of(const char *words, char *name, size_t size);
/* The next of the items between commas at *at, without blanks around it; false past the end, and where one is
 * empty or longer than the buffer. */
bool begin_next_item(const char **at, char *item, size_t size);
/* Whether a unit is a family or frame that versions stand below, or may. */
bool begin_takes_versions(const cw_pack *pack, const char *name);

/* Asks for what is missing, or goes on asking. EXIT_DONE; EXIT_NEGATIVE after Ctrl-C, EXIT_WRONG where the
 * answers end, which is said. */
int begin_ask(begin *all);
/* Takes the last answer back; begin_ask goes on from there. */
void begin_step_back(begin *all);
/* Asks once more for the word that cannot stand. Exit status as above. */
int begin_mend(begin *all, size_t index);

/* The files of a pack. */
typedef struct begin_file {
    char *name, *text; /* owned; "tern.yaml" */
    size_t size;
    bool there; /* else it is yet to be made */
} begin_file;
typedef struct begin_files {
    begin_file *items;
    size_t count;
} begin_files;
/* Every *.yaml of the folder, in the order of their names. Exit status. */
int begin_read_files(const char *folder, begin_files *out);
void begin_free_files(begin_files *files);
bool begin_is_yaml(const char *name);
/* An empty one more; NULL when memory is out. What was pointed to before may have moved. */
begin_file *begin_add_file(begin_files *files, const char *name);
/* The section's name: units, causes, checks. */
const char *begin_section(begin_kind kind);
/* Says that a name is taken, and where; false when it is free. */
bool begin_taken(const begin *all, const char *name, bool a_version);
/* The key that holds the versions of the unit a version is begun of. */
#define BEGIN_VERSIONS "versions"
/* How the file is laid out where the entry goes. */
void begin_layout_for(const begin *all, const char *text, size_t size, begin_layout *out);
/* The file it belongs into, NULL with the reason on standard error. One that is not there yet is added. */
begin_file *begin_choose(const begin *all, begin_files *files);

/* The entry as YAML with "\n" between the lines, in the style of its neighbours; NULL when memory is out. */
char *begin_compose(const begin *all, const begin_layout *layout);

/* The pack with the change in it, checked in a scratch folder. */
typedef struct begin_trial {
    cw_pack *pack;
    cw_messages *messages;
} begin_trial;
/* EXIT_DONE with a pack; else the reason is on standard error. lines: the first and last line that are new;
 * warnings about these are told. */
int begin_try(const begin *all, const begin_files *files, const begin_file *changed, const size_t lines[2],
              begin_trial *out);

/* Writes text over what was there, whole or not at all. was NULL: the file must not be there. */
int begin_write(const char *path, const char *was, size_t was_size, const char *text, size_t size);

/* The first case. path NULL: none was wanted, or there was nothing to answer. */
typedef struct begin_case {
    char *path, *text; /* owned */
} begin_case;
/* Makes it, with the pack that has the entry in it; exit status, also where such a case is there already. */
int begin_make_case(const begin *all, const cw_pack *pack, begin_case *out);
/* Takes it through the pack and says in a sentence how it comes out. */
int begin_run_case(const cw_pack *pack, const begin_case *first);

/* Makes the change, checks it, asks where somebody is asked, and keeps it. Exit status. */
int begin_check_and_keep(begin *all);

#endif
