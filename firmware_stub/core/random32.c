#include "random32.h"

#include "image.h"

uint32_t random_state = SEED_FOR_ZERO;

void random_seed(uint32_t seed)
{
    random_state = seed != 0 ? seed : SEED_FOR_ZERO;
}

/* The upper half of the next state: x ^= x << 13, x ^= x >> 17, x ^= x << 5. By halves, as small processors shift 32
 * bits one by one. */
static uint16_t draw(void)
{
    uint16_t high = (uint16_t)(random_state >> 16);
    uint16_t low = (uint16_t)random_state;

    high ^= (uint16_t)((uint16_t)(high << 13) | low >> 3);
    low ^= (uint16_t)(low << 13);
    low ^= high >> 1;
    high ^= (uint16_t)((uint16_t)(high << 5) | low >> 11);
    low ^= (uint16_t)(low << 5);
    random_state = (uint32_t)high << 16 | low;
    return high;
}

uint32_t random_below(uint32_t n)
{
    uint16_t high = draw();
    uint32_t below = (uint32_t)high * (uint16_t)n >> 16;

    if (n >> 16 != 0) {
        below += (uint32_t)high * (uint16_t)(n >> 16);
    }
    return below;
}
