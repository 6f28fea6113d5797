#include "random32.h"

#include "protocol.h"

uint32_t random_state = SEED_FOR_ZERO;

void random_seed(uint32_t seed)
{
    random_state = seed != 0 ? seed : SEED_FOR_ZERO;
}

uint32_t random_below(uint32_t n)
{
    uint32_t x = random_state;
    uint16_t high;
    uint16_t upper = (uint16_t)(n >> 16);

    x ^= x << 13;
    x ^= x >> 17;
    x ^= x << 5;
    random_state = x;
    high = (uint16_t)(x >> 16);
    if (upper == 0) {
        return (uint32_t)high * (uint16_t)n >> 16;
    }
    return (uint32_t)high * upper + ((uint32_t)high * (uint16_t)n >> 16);
}
