/* From the command line to a session: which packs, which case, which answers. */
#ifndef TOOLS_SETUP_SETUP_H
#define TOOLS_SETUP_SETUP_H

#include "corewright/corewright.h"
#include "setup/options.h"

/* A list of folders that owns its texts. */
typedef struct folder_list {
    char **items;
    size_t count;
} folder_list;

/* The packs named, else COREWRIGHT_PACKS (separated by ':'), else those installed, else those beside the
 * source. A folder that holds no *.yaml itself but folders that do stands for all of these. Names the reason
 * on standard error. */
int folders_find(const cli_options *options, folder_list *out);
void folders_free(folder_list *folders);
/* Opens what folders_find finds; the caller frees it. On failure the reason is on standard error. */
int setup_open_pack(const cli_options *options, cw_pack **out);

/* Messages to standard error, each whole; `least` leaves out what is less than that. */
void print_messages(const cw_messages *messages, cw_message_kind least);
/* Says what a status means on standard error, unless messages have said it; returns the exit status. */
int explain_status(cw_status status, const char *about, const cw_messages *messages);

/* Says that there is no such place, and which is near; EXIT_WRONG. */
int setup_wrong_place(const char *place);

typedef struct job_setup {
    const cli_options *options;
    cw_pack *pack;
    cw_session *session;
    cw_case *job;       /* NULL when no case was read */
    const char *save;   /* NULL when nothing is to be kept */
    bool resumed;       /* the job went on with what was kept */
    cw_carried carried; /* from another stage */
} job_setup;

/* Opens everything. On failure the reason is on standard error and setup is empty. */
int setup_open(const cli_options *options, job_setup *out);
void setup_close(job_setup *setup);
/* The file that the job is in; NULL when there is none. */
const char *setup_kept(const job_setup *setup);
/* A proof that has failed is a negative finding; else what it was. */
int setup_finding(const job_setup *setup, int exit_status);
/* What an identification is sure enough of to be taken as the unit in hand. */
typedef struct identified {
    char name[80], title[200];
    double probability;
    bool unlisted; /* it is sure that no pack lists it; name is not_listed */
} identified;
/* By the answers told so far. False when nothing is sure enough, or the unit has been said. */
bool setup_identified(const job_setup *setup, identified *out);
/* One line on what came along from another stage, and, where nobody is asked, which unit that points to. */
void setup_say_carried(const job_setup *setup, bool nobody_asked);
/* Keeps the job, if it is to be kept. complaint may be NULL. */
int setup_save(const job_setup *setup, const char *complaint);

#endif
