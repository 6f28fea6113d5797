#include "random32.h"

#include "image.h"

uint32_t random_state = SEED_FOR_ZERO;

void random_seed(uint32_t seed)
{
    random_state = seed != 0 ? seed : SEED_FOR_ZERO;
}

/* The byte of (x << 5) where `byte` of x stands above `below`. */
static uint8_t up_5(uint8_t byte, uint8_t below)
{
    return (uint8_t)((uint8_t)(byte << 5) | (uint8_t)(below >> 3));
}

/* The upper half of the next state: x ^= x << 13, x ^= x >> 17, x ^= x << 5. By bytes, of which x3 is the highest:
 * where a register has 8 bits, a longer one is shifted bit by bit. */
static uint16_t draw(void)
{
    uint8_t x0 = (uint8_t)random_state;
    uint8_t x1 = (uint8_t)(random_state >> 8);
    uint8_t x2 = (uint8_t)(random_state >> 16);
    uint8_t x3 = (uint8_t)(random_state >> 24);

    x3 = (uint8_t)(x3 ^ up_5(x2, x1));
    x2 = (uint8_t)(x2 ^ up_5(x1, x0));
    x1 = (uint8_t)(x1 ^ up_5(x0, 0));
    x0 = (uint8_t)(x0 ^ (uint8_t)(x2 >> 1) ^ (uint8_t)(x3 << 7));
    x1 = (uint8_t)(x1 ^ (uint8_t)(x3 >> 1));
    x3 = (uint8_t)(x3 ^ up_5(x3, x2));
    x2 = (uint8_t)(x2 ^ up_5(x2, x1));
    x1 = (uint8_t)(x1 ^ up_5(x1, x0));
    x0 = (uint8_t)(x0 ^ up_5(x0, 0));
    random_state = (uint32_t)x3 << 24 | (uint32_t)x2 << 16 | (uint16_t)((uint16_t)x1 << 8) | x0;
    return (uint16_t)((uint16_t)x3 << 8 | x2);
}

/* Of more than 65,536: rare, and apart, as it takes many registers. */
BY_ITSELF static uint32_t below_many(uint16_t high, uint32_t n)
{
    return (uint32_t)high * (uint16_t)(n >> 16) + ((uint32_t)high * (uint16_t)n >> 16);
}

IN_EVERY_TICK uint32_t random_below(uint32_t n)
{
    uint16_t high = draw();

    if (n >> 16 != 0) {
        return below_many(high, n);
    }
    return (uint32_t)high * (uint16_t)n >> 16;
}
