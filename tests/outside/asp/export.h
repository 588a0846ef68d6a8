/* A loaded pack with its answers as an answer-set program, written from the checker's parse of the YAML.
 * Truth has three grades, so there are two atoms for each fact: y for what holds, m for what holds or may
 * hold; "none" asks the other grade. Numbers and patterns are beyond such a program: what tests them (bands,
 * like, known) goes in as facts. */
#ifndef CW_TESTS_ASP_EXPORT_H
#define CW_TESTS_ASP_EXPORT_H

#include "checker/inside.h"

/* The caller frees it. Shown are y("fact=value") and m("fact=value") of finite facts. */
char *export_program(const checker *judge);

#endif
