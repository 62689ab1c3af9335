/* The least a C test needs: count, tell where a claim failed, exit accordingly. */
#ifndef HOLDFAST_CHECK_H
#define HOLDFAST_CHECK_H

#include <stdio.h>
#include <string.h>

static int check_count;
static int check_failures;

#define CHECK_EQUAL(got, expected)                                                              \
    do {                                                                                        \
        long long check_got = (long long)(got);                                                 \
        long long check_expected = (long long)(expected);                                       \
        check_count++;                                                                          \
        if (check_got != check_expected) {                                                      \
            check_failures++;                                                                   \
            printf("%s:%d: %s: expected %lld, got %lld\n", __FILE__, __LINE__, #got,            \
                   check_expected, check_got);                                                  \
        }                                                                                       \
    } while (0)

#define CHECK_TEXT(got, length, expected)                                                       \
    do {                                                                                        \
        check_count++;                                                                          \
        if ((size_t)(length) != strlen(expected) || memcmp(got, expected, length) != 0) {       \
            check_failures++;                                                                   \
            printf("%s:%d: expected \"%s\", got \"%.*s\"\n", __FILE__, __LINE__, expected,      \
                   (int)(length), got);                                                         \
        }                                                                                       \
    } while (0)

static inline int check_end(const char *what) {
    printf("%s: %d of %d checks hold\n", what, check_count - check_failures, check_count);
    return check_failures == 0 ? 0 : 1;
}

#endif
