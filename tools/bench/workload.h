/* Packs that nobody would write by hand, for measuring how loading grows: made of numbers alone, the same
 * each time. */
#ifndef CW_BENCH_WORKLOAD_H
#define CW_BENCH_WORKLOAD_H

#include <stdbool.h>

enum { FOLDER_ROOM = 64 };

/* A catalogue: that many families of two versions, 21 lines each. A rule pack: that many rules of five
 * lines, each of two tests, which build on one another. Each writes a fresh folder below /tmp and its path
 * into `folder`. False, and says why on standard error, when it cannot be written. */
bool workload_catalogue(unsigned families, char folder[FOLDER_ROOM]);
bool workload_rules(unsigned rules, char folder[FOLDER_ROOM]);
/* The network of network.h: findings f0000 .., causes c000 .. */
bool workload_network(char folder[FOLDER_ROOM]);
/* Rules f000000 .. that conclude the facts of the same names, each from two earlier ones (workload_premises),
 * the first from the answers `power` and `start`; and WORKLOAD_SIDE rules more that want the answer `side`
 * and one of the first of these. `program`: the same for a grounder, all answers but `side` given; may be
 * NULL. */
enum { WORKLOAD_ROOTS = 1000, WORKLOAD_SIDE = 100 };
bool workload_chain(unsigned rules, char folder[FOLDER_ROOM], const char *program);
/* Of the n-th rule, from WORKLOAD_ROOTS on: which facts. */
void workload_premises(unsigned n, unsigned premises[2]);
/* A catalogue of versions in families of 100, each with a sign on every one of so many checks of four
 * choices: a few of its own, the others from its family. Checks c000 .., choices a b c d. */
enum { UNITS_CHECKS = 200, UNITS_CHOICES = 4 };
bool workload_units(unsigned versions, char folder[FOLDER_ROOM]);
/* How many of 100 of this version show the choice. */
unsigned units_shows(unsigned version, unsigned check, unsigned choice);
/* Removes the folder and what is in it. */
void workload_remove(const char *folder);

#endif
