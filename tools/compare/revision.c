#define _XOPEN_SOURCE 700 /* nftw */
#include "compare/revision.h"
#include "screen/exit.h"
#include "screen/hold.h"
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

/* What is asked for, and where its parts lie. */
typedef struct request {
    const char *word;
    char revision[PATH_MAX]; /* what stands before the colon */
    char parent[PATH_MAX];   /* "REV:DIR", the tree whose folders are fetched */
    char last[PATH_MAX];     /* the folder within it; "": the tree itself is the pack */
    revision *out;
} request;

static int fails(const char *what)
{
    fprintf(stderr, "corewright: error: %s: %s\n", what, strerror(errno));
    return EXIT_FAILED;
}

static int no_git(int error)
{
    if (error != ENOENT) {
        errno = error;
        return fails("git");
    }
    fputs("corewright: error: git is not installed, so no revision can be fetched\n"
          "help: install git, or name folders\n",
          stderr);
    return EXIT_WRONG;
}

/* Starts git; its output goes to the file, its own words nowhere. What ends this program may end it too. */
static int start_git(const char *const *words, const char *path, pid_t *pid)
{
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t how;
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_init(&how);
    posix_spawnattr_setsigmask(&how, &none);
    posix_spawnattr_setflags(&how, POSIX_SPAWN_SETSIGMASK);
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 1, path != NULL ? path : "/dev/null",
                                     O_WRONLY | O_CREAT | O_TRUNC, 0600);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    int error = posix_spawnp(pid, "git", &actions, &how, (char *const *)(const void *)words, environ);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&how);
    return error;
}

/* Waits for git. *worked: it ended well. Where the end of this program is asked for, nothing is said. */
static int run_git(const char *const *words, const char *path, bool *worked)
{
    pid_t pid;
    int state = 0;
    const int error = start_git(words, path, &pid);
    if (error != 0)
        return no_git(error);
    while (waitpid(pid, &state, 0) < 0) {
        if (errno != EINTR)
            return fails("git");
    }
    if (hold_asked())
        return EXIT_FAILED;
    if (WIFEXITED(state) &&
        WEXITSTATUS(state) == 127) /* older C libraries tell only so that it is not there */
        return no_git(ENOENT);
    *worked = WIFEXITED(state) && WEXITSTATUS(state) == 0;
    return EXIT_DONE;
}

static int refuse(const char *what, const char *about, const char *help)
{
    fprintf(stderr, "corewright: error: ");
    fprintf(stderr, what, about);
    fprintf(stderr, "\nhelp: %s\n", help);
    return EXIT_WRONG;
}

/* One question to git, with the answer yes or no. */
static int must_hold(const char *const *words, const char *what, const char *about, const char *help)
{
    bool worked;
    int status = run_git(words, NULL, &worked);
    return status != EXIT_DONE ? status : worked ? EXIT_DONE : refuse(what, about, help);
}

static int check(const request *of)
{
    char tree[PATH_MAX + 16];
    snprintf(tree, sizeof tree, "%s^{tree}", of->revision);
    const char *const where[] = {"git", "rev-parse", "--git-dir", NULL};
    const char *const which[] = {"git", "rev-parse", "--verify", "--quiet", "--end-of-options", tree, NULL};
    const char *const path[] = {"git",    "rev-parse", "--verify", "--quiet", "--end-of-options",
                                of->word, NULL};
    int status = must_hold(where, "there is no folder '%s', and this is no git repository to fetch it from",
                           of->word, "go to the repository, or name a folder");
    if (status == EXIT_DONE)
        status = must_hold(which, "git knows no revision '%s'", of->revision, "git log --oneline lists them");
    if (status == EXIT_DONE)
        status = must_hold(path, "there is no '%s'", of->word,
                           "the path is the one from the top of the repository; ./PATH begins where one is");
    return status;
}

/* REV:a/b -> REV:a and b; REV:b -> REV: and b; REV:, REV:. -> itself and nothing beside it. */
static int split(const char *word, request *of)
{
    size_t size = strlen(word), colon = strcspn(word, ":");
    while (size > colon + 1 && word[size - 1] == '/')
        size--;
    if (size >= sizeof of->parent) {
        errno = ENAMETOOLONG;
        return fails(word);
    }
    snprintf(of->revision, sizeof of->revision, "%.*s", (int)colon, word);
    size_t last = size;
    while (last > colon + 1 && word[last - 1] != '/')
        last--;
    bool dots = size - last <= 2 && strspn(word + last, ".") >= size - last;
    if (dots) {
        snprintf(of->parent, sizeof of->parent, "%.*s%s", (int)size, word, word[size - 1] == '.' ? "/" : "");
        of->last[0] = '\0';
        return EXIT_DONE;
    }
    snprintf(of->parent, sizeof of->parent, "%.*s", (int)last, word);
    snprintf(of->last, sizeof of->last, "%.*s", (int)(size - last), word + last);
    return EXIT_DONE;
}

static int make_folder(request *of)
{
    const char *base = getenv("TMPDIR");
    snprintf(of->out->fetched, sizeof of->out->fetched, "%s/corewright-XXXXXX",
             base != NULL && base[0] != '\0' ? base : "/tmp");
    if (mkdtemp(of->out->fetched) == NULL) {
        int status = fails(of->out->fetched);
        of->out->fetched[0] = '\0';
        return status;
    }
    int size = snprintf(of->out->folder, sizeof of->out->folder, "%s/%s", of->out->fetched,
                        of->last[0] != '\0' ? of->last : "packs");
    errno = ENAMETOOLONG;
    return size > 0 && (size_t)size < sizeof of->out->folder ? EXIT_DONE : fails(of->word);
}

static bool is_yaml(const char *path)
{
    size_t size = strlen(path);
    return size > 5 && strcmp(path + size - 5, ".yaml") == 0;
}

/* A file of a pack, by where it lies in the tree: PACK/FILE.yaml beside or at what was named, or one folder
 * deeper within what was named. */
static bool wanted(const request *of, const char *path)
{
    size_t slashes = 0, size = strlen(of->last);
    if (!is_yaml(path) || path[0] == '.' || path[0] == '/' || strstr(path, "/.") != NULL)
        return false;
    for (const char *c = path; *c != '\0'; c++)
        slashes += *c == '/';
    if (size == 0)
        return slashes <= 1;
    return slashes == 1 || (slashes == 2 && strncmp(path, of->last, size) == 0 && path[size] == '/');
}

static int fetch_file(const request *of, const char *object, const char *path)
{
    char to[PATH_MAX * 2];
    const char *top = of->last[0] != '\0' ? of->out->fetched : of->out->folder;
    int size = snprintf(to, sizeof to, "%s/%s", top, path);
    if (size < 0 || size >= PATH_MAX) {
        errno = ENAMETOOLONG;
        return fails(path);
    }
    for (char *c = to + strlen(of->out->fetched) + 1; (c = strchr(c, '/')) != NULL; c++) {
        *c = '\0';
        int made = mkdir(to, 0700);
        if (made != 0 && errno != EEXIST)
            return fails(to);
        *c = '/';
    }
    bool worked;
    const char *const words[] = {"git", "cat-file", "blob", object, NULL};
    int status = run_git(words, to, &worked);
    if (status == EXIT_DONE && !worked) {
        fprintf(stderr, "corewright: error: git could not give '%s' of %s\n", path, of->word);
        return EXIT_FAILED;
    }
    return status;
}

/* "100644 blob OBJECT\tPATH" and a NUL, one after the other. Links are left out. */
static int fetch_listed(const request *of, FILE *list)
{
    char *entry = NULL;
    size_t room = 0;
    int status = EXIT_DONE;
    while (status == EXIT_DONE && getdelim(&entry, &room, '\0', list) > 0) {
        char object[128], mode[16];
        const char *path = strchr(entry, '\t');
        if (path != NULL && sscanf(entry, "%15s blob %127[0-9a-f]", mode, object) == 2 &&
            strncmp(mode, "100", 3) == 0 && wanted(of, path + 1))
            status = fetch_file(of, object, path + 1);
    }
    free(entry);
    return status;
}

static int fetch(const request *of)
{
    char path[PATH_MAX + 16];
    bool worked;
    const char *const words[] = {"git", "ls-tree", "-r", "-z", "--full-tree", of->parent, NULL};
    snprintf(path, sizeof path, "%s/list", of->out->fetched);
    int status = run_git(words, path, &worked);
    if (status != EXIT_DONE)
        return status;
    FILE *list = fopen(path, "r");
    if (list == NULL)
        return fails(path);
    status =
        worked ? fetch_listed(of, list)
               : refuse("'%s' is no folder", of->word, "name the folder of a pack, or one that holds packs");
    fclose(list);
    struct stat about;
    if (status == EXIT_DONE && stat(of->out->folder, &about) != 0)
        status = refuse("'%s' holds no pack", of->word, "name the folder of a pack, or one that holds packs");
    return status;
}

int revision_open(const char *word, revision *out)
{
    struct stat about;
    request of = {.word = word, .out = out};
    *out = (revision){.folder = ""};
    if (stat(word, &about) == 0 || strchr(word, ':') == NULL) {
        const size_t size = strlen(word) + 1;
        if (size > sizeof out->folder) {
            errno = ENAMETOOLONG;
            return fails(word);
        }
        memcpy(out->folder, word, size);
        return EXIT_DONE;
    }
    int status = split(word, &of);
    if (status == EXIT_DONE)
        status = check(&of);
    if (status == EXIT_DONE)
        status = make_folder(&of);
    if (status == EXIT_DONE)
        status = fetch(&of);
    if (status != EXIT_DONE)
        revision_close(out);
    return status;
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
    (void)about;
    (void)kind;
    (void)walk;
    return remove(path);
}

void revision_close(revision *of)
{
    if (of->fetched[0] != '\0')
        nftw(of->fetched, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    of->fetched[0] = '\0';
}
