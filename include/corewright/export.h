/* Marks what the shared library exports; everything else stays hidden inside it. */
#ifndef COREWRIGHT_EXPORT_H
#define COREWRIGHT_EXPORT_H

#define CW_API __attribute__((visibility("default")))

#endif
