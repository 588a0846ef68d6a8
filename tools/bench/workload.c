#include "workload.h"

#include "network.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ENTRIES_PER_FILE = 500, RULES_PER_FILE = 20000, RATINGS = 40 };

static FILE *begin(const char *folder, const char *kind, unsigned number)
{
    char path[FOLDER_ROOM + 40];
    snprintf(path, sizeof path, "%s/%s-%04u.yaml", folder, kind, number);
    FILE *file = fopen(path, "w");
    if (file == NULL)
        fprintf(stderr, "cw_bench: %s: %s\n", path, strerror(errno));
    return file;
}

static bool end(FILE *file, const char *folder)
{
    bool done = ferror(file) == 0;
    done = fclose(file) == 0 && done;
    if (!done)
        fprintf(stderr, "cw_bench: %s: %s\n", folder, strerror(errno));
    return done;
}

static bool fresh_folder(char folder[FOLDER_ROOM])
{
    snprintf(folder, FOLDER_ROOM, "/tmp/cw_bench-XXXXXX");
    if (mkdtemp(folder) != NULL)
        return true;
    fprintf(stderr, "cw_bench: %s: %s\n", folder, strerror(errno));
    return false;
}

/* One file for each so many entries of a section. */
static bool write_files(const char *folder, const char *section, unsigned count, unsigned each,
                        void (*write)(FILE *file, unsigned number))
{
    bool done = true;
    for (unsigned i = 0; i < count && done; i += each) {
        FILE *file = begin(folder, section, i / each);
        if (file == NULL)
            return false;
        fprintf(file, "%s:\n", section);
        for (unsigned k = i; k < count && k < i + each; k++)
            write(file, k);
        done = end(file, folder);
    }
    return done;
}

static bool write_entries(const char *folder, const char *section, unsigned count,
                          void (*write)(FILE *file, unsigned number))
{
    return write_files(folder, section, count, ENTRIES_PER_FILE, write);
}

/* -- A catalogue -- */

static void write_measure(FILE *file, const char *name, const char *range)
{
    fprintf(file,
            "  %s:\n    title: A size\n    ask: How large is it?\n    measure: length\n    unit: mm\n    "
            "range: %s\n"
            "    reading_error: {tape: 1.5 mm, caliper: 0.2 mm}\n    place: counter\n    minutes: 1\n",
            name, range);
}

static bool write_catalogue_header(const char *folder)
{
    FILE *file = begin(folder, "pack", 0);
    if (file == NULL)
        return false;
    fputs("pack: {name: bench-catalogue, title: A generated catalogue, version: 1}\nchecks:\n", file);
    write_measure(file, "bolt_spacing", "60 mm to 200 mm");
    write_measure(file, "stator_diameter", "80 mm to 250 mm");
    write_measure(file, "stack_width", "15 mm to 90 mm");
    fputs(
        "  mount: {title: A look, ask: How is it held?, choices: [ears, cradle, pad, post], place: counter, "
        "minutes: 1}\n"
        "  turns: {title: A look, ask: Which way?, choices: [clockwise, anticlockwise, either], place: "
        "counter, minutes: "
        "1}\n"
        "  stud: {title: A look, ask: Which stud?, choices: [m5, m6, m8, m10], place: counter, minutes: 1}\n"
        "  pins: {title: A look, ask: How many pins?, count: 0 to 6, place: counter, minutes: 1}\n"
        "  ribs: {title: A look, ask: How many ribs?, count: 1 to 12, place: counter, minutes: 1}\n"
        "  marking: {title: A look, ask: What is stamped on it?, text: yes, place: counter, minutes: 2}\n",
        file);
    return end(file, folder);
}

static void write_family(FILE *file, unsigned n)
{
    static const char *const mounts[] = {"ears", "cradle", "pad", "post"};
    static const char *const turns[] = {"clockwise", "anticlockwise", "either"};
    static const char *const studs[] = {"m5", "m6", "m8", "m10"};
    fprintf(file,
            "  family_%05u:\n    title: Family %05u\n    source: generated\n    notes: Its numbers follow "
            "from its own.\n    signs:\n",
            n, n);
    fprintf(file, "      bolt_spacing: %u.%u mm +/- 0.8 mm\n", 70 + n % 120, n % 10);
    fprintf(file, "      stator_diameter: %u mm +/- 1 mm\n", 90 + n * 7 % 150);
    fprintf(file, "      mount: {%s: usually, %s: rarely}\n", mounts[n % 4], mounts[(n + 1) % 4]);
    fprintf(file, "      turns: %s\n      pins: {%u: usually}\n      ribs: %u\n", turns[n / 4 % 3], n % 7,
            1 + n % 12);
    fprintf(file, "      marking: {like: '^F ?%05u', how_often: usually}\n    versions:\n", n);
    for (unsigned v = 0; v < 2; v++)
        fprintf(file,
                "      family_%05u_%c:\n        title: Family %05u %c\n        seen: %u\n"
                "        signs: {stud: %s, stack_width: %u mm +/- 0.6 mm}\n",
                n, "ab"[v], n, "AB"[v], 1 + (n + v) % RATINGS, studs[(n + v) % 4], 20 + (n + 5 * v) % 60);
}

bool workload_catalogue(unsigned families, char folder[FOLDER_ROOM])
{
    return fresh_folder(folder) && write_catalogue_header(folder) &&
           write_entries(folder, "units", families, write_family);
}

/* -- Rules -- */

enum { CHECKS = 100 };

static bool write_rules_header(const char *folder)
{
    FILE *file = begin(folder, "pack", 0);
    if (file == NULL)
        return false;
    fputs("pack: {name: bench-rules, title: Generated rules, version: 1}\nchecks:\n", file);
    for (unsigned i = 0; i < CHECKS; i++)
        fprintf(file,
                "  check_%02u: {title: A look, ask: What is seen?, choices: [good, worn, burnt], place: "
                "bench, minutes: 1}\n",
                i);
    return end(file, folder);
}

/* Each tests a check and, after the first few, what a rule a hundred before it concluded. */
static void write_rule(FILE *file, unsigned n)
{
    static const char *const looks[] = {"good", "worn", "burnt"};
    fprintf(file, "  rule_%06u:\n    if: {check_%02u: %s, ", n, n % CHECKS, looks[n % 3]);
    if (n < CHECKS)
        fprintf(file, "check_%02u: %s}\n", (n + 1) % CHECKS, looks[n / 3 % 3]);
    else
        fprintf(file, "state_%06u: %s}\n", n - CHECKS, looks[n % 3]);
    fprintf(file, "    then: {state_%06u: %s}\n    because: Number %u follows from two others.\n", n,
            looks[(n + CHECKS) % 3], n);
    fputs("    source: generated\n", file);
}

bool workload_rules(unsigned rules, char folder[FOLDER_ROOM])
{
    return fresh_folder(folder) && write_rules_header(folder) &&
           write_entries(folder, "rules", rules, write_rule);
}

/* -- Rules of two premises each, and nothing else -- */

void workload_premises(unsigned n, unsigned premises[2])
{
    const unsigned back = 1 + n * 2654435761u % (WORKLOAD_ROOTS - 1);
    premises[0] = n - WORKLOAD_ROOTS;
    premises[1] = n - back;
}

static void write_side_rule(FILE *file, unsigned n)
{
    fprintf(file, "  side%03u: {if: {side: yes, f%06u: yes}, then: {side%03u: yes}, ", n, n, n);
    fputs("because: Made up., source: generated}\n", file);
}

static bool write_chain_header(const char *folder)
{
    static const char *const checks[] = {"power", "start", "side"};
    FILE *file = begin(folder, "pack", 0);
    if (file == NULL)
        return false;
    fputs("pack: {name: bench-chain, title: Generated rules, version: 1}\nchecks:\n", file);
    for (int i = 0; i < 3; i++)
        fprintf(file, "  %s: {title: A look, ask: Is it on?, place: bench, minutes: 1}\n", checks[i]);
    fputs("rules:\n", file);
    for (unsigned n = 0; n < WORKLOAD_SIDE; n++)
        write_side_rule(file, n);
    return end(file, folder);
}

static void write_chain_rule(FILE *file, unsigned n)
{
    unsigned of[2];
    if (n < WORKLOAD_ROOTS) {
        fprintf(file, "  f%06u: {if: {power: yes, start: yes}, ", n);
    } else {
        workload_premises(n, of);
        fprintf(file, "  f%06u: {if: {f%06u: yes, f%06u: yes}, ", n, of[0], of[1]);
    }
    fprintf(file, "then: {f%06u: yes}, because: Made up., source: generated}\n", n);
}

static bool write_program(unsigned rules, const char *path)
{
    FILE *file = fopen(path, "w");
    unsigned of[2];
    if (file == NULL) {
        fprintf(stderr, "cw_bench: %s: %s\n", path, strerror(errno));
        return false;
    }
    fputs("power. start.\n", file);
    for (unsigned n = 0; n < WORKLOAD_ROOTS; n++)
        fprintf(file, "f%06u :- power, start.\n", n);
    for (unsigned n = WORKLOAD_ROOTS; n < rules; n++) {
        workload_premises(n, of);
        fprintf(file, "f%06u :- f%06u, f%06u.\n", n, of[0], of[1]);
    }
    return end(file, path);
}

bool workload_chain(unsigned rules, char folder[FOLDER_ROOM], const char *program)
{
    return fresh_folder(folder) && write_chain_header(folder) &&
           write_files(folder, "rules", rules, RULES_PER_FILE, write_chain_rule) &&
           (program == NULL || write_program(rules, program));
}

/* -- A network of causes -- */

static bool write_network_header(const char *folder)
{
    FILE *file = begin(folder, "pack", 0);
    if (file == NULL)
        return false;
    fputs("pack: {name: bench-network, title: A generated network, version: 1}\nparts:\n", file);
    for (unsigned i = 0; i < NET_PARTS; i++)
        fprintf(file, "  part_%02u: {title: Part %u, where: %s}\n", i, i, i % 2 == 0 ? "unit" : "vehicle");
    return end(file, folder);
}

static void write_finding(FILE *file, unsigned n)
{
    const network_found found = network_case();
    fprintf(file, "  f%04u: {title: Finding %u, ask: Is it seen?, place: %s, minutes: 1}\n", n, n,
            network_is_near(&found, n) ? "counter" : "bench");
}

static void write_cause(FILE *file, unsigned n)
{
    fprintf(file, "  c%03u:\n    title: Cause %u\n    part: part_%02u\n    seen: %u of 1000\n    signs:\n", n,
            n, n % NET_PARTS, network_seen(n));
    for (unsigned k = 0; k < NET_SIGNS; k++)
        fprintf(file, "      f%04u: {yes: %u of 100}\n", network_finding(n, k), network_shows(n, k));
    fputs("    source: generated\n", file);
}

bool workload_network(char folder[FOLDER_ROOM])
{
    return fresh_folder(folder) && write_network_header(folder) &&
           write_entries(folder, "checks", NET_FINDINGS, write_finding) &&
           write_entries(folder, "causes", NET_CAUSES, write_cause);
}

/* -- Units and many checks -- */

enum { OWN_SIGNS = 4, VERSIONS_EACH = 100, FAMILIES_PER_FILE = 50 };

unsigned units_shows(unsigned version, unsigned check, unsigned choice)
{
    const unsigned family = version / VERSIONS_EACH, whose = check < OWN_SIGNS ? version : family;
    unsigned n = (whose * 2654435761u) ^ (check * 2246822519u);
    n = (n ^ n >> 15) * 2246822519u;
    n ^= n >> 13;
    const unsigned shares[UNITS_CHOICES - 1] = {40 + n % 30, 10 + (n >> 8) % 11, 5 + (n >> 16) % 5};
    const unsigned at = (choice + (n >> 24)) % UNITS_CHOICES;
    return at < 3 ? shares[at] : 100 - shares[0] - shares[1] - shares[2];
}

static bool write_units_header(const char *folder)
{
    FILE *file = begin(folder, "pack", 0);
    if (file == NULL)
        return false;
    fputs("pack: {name: bench-units, title: A generated table, version: 1}\nchecks:\n", file);
    for (unsigned c = 0; c < UNITS_CHECKS; c++)
        fprintf(file,
                "  c%03u: {title: A look, ask: Which is it?, choices: [a, b, c, d], place: counter, minutes: "
                "1}\n",
                c);
    return end(file, folder);
}

static void write_shows(FILE *file, unsigned version, unsigned check)
{
    fprintf(file, "c%03u: {a: %u of 100, b: %u of 100, c: %u of 100, d: %u of 100}", check,
            units_shows(version, check, 0), units_shows(version, check, 1), units_shows(version, check, 2),
            units_shows(version, check, 3));
}

static void write_units_family(FILE *file, unsigned n)
{
    fprintf(file, "  u%04u:\n    title: Family %u\n    source: generated\n    signs:\n", n, n);
    for (unsigned c = OWN_SIGNS; c < UNITS_CHECKS; c++) {
        fputs("      ", file);
        write_shows(file, n * VERSIONS_EACH, c);
        fputc('\n', file);
    }
    fputs("    versions:\n", file);
    for (unsigned v = n * VERSIONS_EACH; v < (n + 1) * VERSIONS_EACH; v++) {
        fprintf(file, "      v%06u: {title: Version %u, seen: %u, signs: {", v, v, 1 + v % RATINGS);
        for (unsigned c = 0; c < OWN_SIGNS; c++) {
            fputs(c > 0 ? ", " : "", file);
            write_shows(file, v, c);
        }
        fputs("}}\n", file);
    }
}

bool workload_units(unsigned versions, char folder[FOLDER_ROOM])
{
    return fresh_folder(folder) && write_units_header(folder) &&
           write_files(folder, "units", versions / VERSIONS_EACH, FAMILIES_PER_FILE, write_units_family);
}

void workload_remove(const char *folder)
{
    DIR *open = folder[0] == '\0' ? NULL : opendir(folder);
    if (open == NULL)
        return;
    for (struct dirent *entry; (entry = readdir(open)) != NULL;) {
        char path[FOLDER_ROOM + sizeof entry->d_name];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.')
            unlink(path);
    }
    closedir(open);
    rmdir(folder);
}
