/* Feeds files to a target, each as it is and with single bytes changed: replay TARGET FILE... */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "fuzz/targets.h"

#define LONGEST (1 << 20)
#define SECONDS 0.1 /* of processor time for a target, and each file at least once */

static double seconds_now(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* splitmix64 (Steele, Lea and Flood, OOPSLA 2014). */
static uint64_t draw(uint64_t *state)
{
    uint64_t x = *state += 0x9e3779b97f4a7c15u;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

static size_t read_file(const char *path, uint8_t *data)
{
    FILE *file = fopen(path, "rb");
    if (!file) {
        fprintf(stderr, "replay: cannot open %s\n", path);
        exit(2);
    }
    size_t size = fread(data, 1, LONGEST, file);
    (void)fclose(file);
    return size;
}

int main(int argc, char **argv)
{
    static uint8_t data[LONGEST];
    const struct fuzz_target *target = argc > 2 ? fuzz_find(argv[1]) : NULL;
    if (!target) {
        fprintf(stderr, "usage: replay TARGET FILE...\n");
        return 2;
    }
    size_t fed = 0;
    uint64_t state = 1;
    target->feed(data, 0);
    double end = seconds_now() + SECONDS;
    for (int i = 2; i < argc; i++) {
        size_t size = read_file(argv[i], data);
        double until = seconds_now() + (end - seconds_now()) / (argc - i);
        do {
            target->feed(data, size);
            fed++;
            if (size > 0) {
                data[draw(&state) % size] = (uint8_t)draw(&state);
            }
        } while (seconds_now() < until);
    }
    printf("%s: %zu inputs\n", target->name, fed);
    return 0;
}
