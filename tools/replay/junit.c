#include "replay/junit.h"
#include "screen/exit.h"
#include <errno.h>
#include <string.h>

int junit_open(const char *path, junit *out)
{
    *out = (junit){.path = path};
    if (path == NULL)
        return EXIT_DONE;
    out->file = fopen(path, "w");
    if (out->file != NULL)
        out->tests = tmpfile();
    if (out->tests != NULL)
        return EXIT_DONE;
    int reason = errno;
    fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(reason));
    if (out->file != NULL)
        fclose(out->file);
    *out = (junit){.path = NULL};
    return reason == ENOENT || reason == ENOTDIR || reason == EISDIR ? EXIT_WRONG : EXIT_FAILED;
}

/* What XML 1.0 has no place for becomes a question mark. */
static void put_text(FILE *file, const char *text)
{
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0'; c++) {
        if (*c == '&')
            fputs("&amp;", file);
        else if (*c == '<')
            fputs("&lt;", file);
        else if (*c == '>')
            fputs("&gt;", file);
        else if (*c == '"')
            fputs("&quot;", file);
        else
            fputc(*c < 0x20 && *c != '\n' && *c != '\t' ? '?' : *c, file);
    }
}

static void put_attribute(FILE *file, const char *name, const char *value)
{
    fprintf(file, " %s=\"", name);
    put_text(file, value);
    fputc('"', file);
}

void junit_add(junit *out, const char *group, const char *name, junit_end end, const char *message,
               const char *details)
{
    static const char *const elements[] = {NULL, "failure", "error", "skipped"};
    if (out->tests == NULL)
        return;
    out->count++;
    out->ends[end]++;
    fputs("    <testcase", out->tests);
    put_attribute(out->tests, "classname", group);
    put_attribute(out->tests, "name", name);
    if (end == JUNIT_PASSED) {
        fputs("/>\n", out->tests);
        return;
    }
    fprintf(out->tests, ">\n      <%s", elements[end]);
    put_attribute(out->tests, "message", message);
    fputc('>', out->tests);
    put_text(out->tests, details);
    fprintf(out->tests, "</%s>\n    </testcase>\n", elements[end]);
}

static void put_head(const junit *out, const char *suite)
{
    fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n", out->file);
    for (int i = 0; i < 2; i++) {
        fprintf(out->file, "%s", i == 0 ? "<testsuites" : "  <testsuite");
        put_attribute(out->file, "name", suite);
        fprintf(out->file, " tests=\"%zu\" failures=\"%zu\" errors=\"%zu\"", out->count,
                out->ends[JUNIT_FAILED], out->ends[JUNIT_ERROR]);
        if (i == 1)
            fprintf(out->file, " skipped=\"%zu\"", out->ends[JUNIT_SKIPPED]);
        fputs(">\n", out->file);
    }
}

int junit_close(junit *out, const char *suite)
{
    char buffer[16384];
    if (out->tests == NULL)
        return EXIT_DONE;
    put_head(out, suite);
    bool broken = fflush(out->tests) != 0 || fseek(out->tests, 0, SEEK_SET) != 0;
    for (size_t got; !broken && (got = fread(buffer, 1, sizeof buffer, out->tests)) > 0;)
        broken = fwrite(buffer, 1, got, out->file) != got;
    broken |= ferror(out->tests) != 0;
    fputs("  </testsuite>\n</testsuites>\n", out->file);
    broken |= fclose(out->tests) != 0;
    broken |= ferror(out->file) != 0;
    broken |= fclose(out->file) != 0;
    out->tests = NULL;
    if (!broken)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: it could not be written whole\n", out->path);
    return EXIT_FAILED;
}
