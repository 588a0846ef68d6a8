#include <corewright/corewright.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    cw_pack *pack;
    if (argc < 2 || cw_pack_open(NULL, (const char *const *)&argv[1], 1, NULL, &pack) != CW_OK)
        return 1;
    printf("%zu checks\n", cw_pack_checks(pack));
    cw_pack_free(pack);
    return 0;
}
