#include "random32.h"

#include "protocol.h"

uint32_t random_state = SEED_FOR_ZERO;

void random_seed(uint32_t seed)
{
    random_state = seed != 0 ? seed : SEED_FOR_ZERO;
}

/* The next state: x ^= x << 13, x ^= x >> 17, x ^= x << 5, by halves, as shifts of 32 bits are slow where a register
 * has 8. */
static uint16_t draw(void)
{
    uint16_t high = (uint16_t)(random_state >> 16);
    uint16_t low = (uint16_t)random_state;

    high ^= (uint16_t)((uint16_t)(uint8_t)(high * 32U) << 8 | low >> 3);
    low ^= (uint16_t)((uint16_t)(uint8_t)(low * 32U) << 8);
    low ^= high >> 1;
    high ^= (uint16_t)(high * 32U | low >> 11);
    low ^= (uint16_t)(low * 32U);
    random_state = (uint32_t)high << 16 | low;
    return high;
}

uint32_t random_below(uint32_t n)
{
    uint16_t high = draw();
    uint16_t upper = (uint16_t)(n >> 16);

    if (upper == 0) {
        return (uint32_t)high * (uint16_t)n >> 16;
    }
    return (uint32_t)high * upper + ((uint32_t)high * (uint16_t)n >> 16);
}
