/* The same programs of bitwise operations as the figure's own, obeyed in C on 64-bit words: what a loop
 * compiled for the machine makes of them.
 *
 * Takes a file of 32-bit numbers (instruction count, row count, input row count, first detection row, class
 * count, block count; the instructions by fours; the input rows of each block) and how often to do the job.
 * Prints the processor time of one job in microseconds, then the first detecting pattern of each class, -1 for
 * none.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef uint64_t word;
enum { ROW_WORDS = 8, ROW_BYTES = 8 * ROW_WORDS };
struct instruction {
    int32_t operation, target, first, second;
};

#define EACH(expression)                    \
    for (int w = 0; w < ROW_WORDS; w++) {   \
        target[w] = (expression);           \
    }                                       \
    break

static void obey(const struct instruction *at, const struct instruction *end, word (*rows)[ROW_WORDS])
{
    for (; at < end; at++) {
        word *target = rows[at->target];
        const word *a = rows[at->first], *b = rows[at->second];
        switch (at->operation) {
        case 0: EACH(a[w] & b[w]);
        case 1: EACH(~(a[w] & b[w]));
        case 2: EACH(a[w] | b[w]);
        case 3: EACH(~(a[w] | b[w]));
        case 4: EACH(a[w] ^ b[w]);
        case 5: EACH(~(a[w] ^ b[w]));
        case 6: EACH(a[w]);
        case 7: EACH(~a[w]);
        case 8: EACH(a[w] & ~b[w]);
        }
    }
}

int main(int argc, char **argv)
{
    FILE *file = argc == 3 ? fopen(argv[1], "rb") : NULL;
    int32_t head[6];
    if (file == NULL || fread(head, sizeof head, 1, file) != 1) {
        fputs("expected a file of numbers and a count\n", stderr);
        return 2;
    }
    const int32_t count = head[0], row_count = head[1], inputs = head[2];
    const int32_t first_row = head[3], classes = head[4], blocks = head[5];
    struct instruction *program = malloc(sizeof *program * count);
    word(*rows)[ROW_WORDS] = calloc(row_count, ROW_BYTES);
    word *patterns = malloc((size_t)ROW_BYTES * inputs * blocks);
    word *detections = malloc((size_t)ROW_BYTES * classes * blocks);
    int32_t *first = malloc(sizeof *first * classes);
    if (!program || !rows || !patterns || !detections || !first ||
        fread(program, sizeof *program, count, file) != (size_t)count ||
        fread(patterns, ROW_BYTES, (size_t)inputs * blocks, file) != (size_t)inputs * blocks) {
        fputs("the file is short\n", stderr);
        return 2;
    }
    const int jobs = atoi(argv[2]);
    const clock_t begun = clock();
    for (int job = 0; job < jobs; job++) {
        for (int block = 0; block < blocks; block++) {
            memcpy(rows, patterns + (size_t)ROW_WORDS * inputs * block, (size_t)ROW_BYTES * inputs);
            obey(program, program + count, rows);
            for (int c = 0; c < classes; c++)
                memcpy(detections + ((size_t)c * blocks + block) * ROW_WORDS, rows[first_row + c], ROW_BYTES);
        }
        for (int c = 0; c < classes; c++) {
            const word *seen = detections + (size_t)c * blocks * ROW_WORDS;
            first[c] = -1;
            for (int w = 0; w < blocks * ROW_WORDS && first[c] < 0; w++)
                if (seen[w]) first[c] = 64 * w + __builtin_ctzll(seen[w]);
        }
    }
    printf("%f\n", 1e6 * (double)(clock() - begun) / CLOCKS_PER_SEC / jobs);
    for (int c = 0; c < classes; c++) printf("%d\n", first[c]);
    return 0;
}
