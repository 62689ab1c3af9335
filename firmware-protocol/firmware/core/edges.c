#include "edges.h"

static volatile bool running;
static struct edge kept;

void edges_init(void) {
    running = false;
}

void edges_begin(struct edge first, struct edge second, uint32_t us) {
    running = true;
    hal_edges(first, second, us);
}

void edges_keep(struct edge edge) {
    kept = edge;
    running = true;
}

struct edge edges_take(void) {
    struct edge taken = running ? kept : (struct edge){0, 0};
    running = false;
    return taken;
}

bool edges_running(void) {
    return running;
}

void edges_cancel(void) {
    hal_edges_cancel();
    running = false;
}

void edges_ended(void) {
    running = false;
}
