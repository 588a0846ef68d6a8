#include "outside/asp/engine.h"
#include "pack/pack.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void must_be_good(cw_status status, cw_diags *diags, cw_sources *sources)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    for (size_t i = 0; i < cw_diags_count(diags); i++)
        cw_diag_render(&text, sources, cw_diags_at(diags, i));
    cr_assert_eq(status, CW_OK, "the pack does not load:\n%s", cw_text_get(&text));
    cw_text_dispose(&text);
}

cw_model *engine_compile(const char *text)
{
    cw_model *model = NULL;
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    const cw_pack_file file = {"pack.yaml", text, strlen(text)};
    const cw_pack_text pack = {"pack", &file, 1};
    must_be_good(cw_pack_compile(&cw_system_allocator, &pack, 1, sources, diags, &model), diags, sources);
    cw_diags_free(diags);
    cw_sources_free(sources);
    return model;
}

cw_model *engine_load(const char *folder)
{
    cw_model *model = NULL;
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    must_be_good(cw_pack_load(&cw_system_allocator, &folder, 1, sources, diags, &model), diags, sources);
    cw_diags_free(diags);
    cw_sources_free(sources);
    return model;
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static cw_truth value_truth(const cw_chain *chain, cw_fact_id fact, uint32_t value)
{
    cw_atom_id atom = cw_fact_value_atom(cw_chain_model(chain), fact, value);
    const cw_answer *answer = cw_chain_answered(chain, fact);
    if (atom != 0)
        return cw_chain_truth(chain, atom);
    return answer != NULL && !answer->cant_tell && answer->value == value ? CW_YES : CW_NO;
}

char **engine_facts(const cw_chain *chain, size_t *count)
{
    const cw_model *model = cw_chain_model(chain);
    char **lines = NULL;
    *count = 0;
    for (cw_fact_id f = 1; f <= model->facts_count; f++) {
        const cw_fact *fact = &model->facts[f];
        for (uint32_t v = 0; v < fact->values.count; v++) {
            cw_truth truth = value_truth(chain, f, v);
            char line[300];
            if (truth == CW_NO)
                continue;
            snprintf(line, sizeof line, "%s=%s%s", fact->name, model->values[fact->values.first + v].name,
                     truth == CW_YES ? "" : "?");
            lines = realloc(lines, (*count + 1) * sizeof *lines);
            lines[*count] = malloc(strlen(line) + 1);
            memcpy(lines[(*count)++], line, strlen(line) + 1);
        }
    }
    if (*count > 0)
        qsort(lines, *count, sizeof *lines, by_text);
    return lines;
}

void engine_forget(char **lines, size_t count)
{
    for (size_t i = 0; i < count; i++)
        free(lines[i]);
    free(lines);
}
