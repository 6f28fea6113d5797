/* Ten lines of program that prove the bench itself: a tick on timer 1, a pin that follows an input and one that
 * turns over each tick, bytes sent back one higher, and a write of the EEPROM asked for by the byte 0xEE.
 */
#include <avr/interrupt.h>
#include <avr/io.h>

ISR(TIMER1_OVF_vect) {
    PORTB = (uint8_t)((PORTB ^ 1) & 1) | (PIND & 4 ? 2 : 0);
    OCR0A = 100;
    TCCR0A = _BV(COM0A1) | _BV(WGM01) | _BV(WGM00);
}

ISR(USART_RX_vect) {
    uint8_t byte = UDR0;
    if (byte == 0xEE) {
        EEAR = 5;
        EEDR = 0x5A;
        EECR = _BV(EEMPE);
        EECR |= _BV(EEPE);
        while (EECR & _BV(EEPE)) {
        }
    }
    UDR0 = (uint8_t)(byte + 1);
}

int main(void) {
    DDRB = 3;
    DDRD = _BV(PD6);
    UBRR0 = 16;
    UCSR0A = _BV(U2X0);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    ICR1 = 15999;
    TCCR0B = _BV(CS01) | _BV(CS00);
    TCCR1A = _BV(WGM11);
    TCCR1B = _BV(WGM13) | _BV(WGM12) | _BV(CS10);
    TIMSK1 = _BV(TOIE1);
    sei();
    for (;;) {
    }
}
