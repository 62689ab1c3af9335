#include "core/controller.h"
#include "hal/hal.h"

int main(void) {
    hal_init();
    controller_init();
    for (;;) {
        if (!controller_poll()) {
            hal_idle();
        }
    }
}
