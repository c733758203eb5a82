// Rings between an interrupt and the main loop: one writes, the other reads, no lock.
//
// Assumes: size is a power of two up to 128; one place stays free.
#pragma once

#include <stdint.h>

namespace dropledger {
namespace controller {

template <class Item, uint8_t size> class Ring {
public:
    static constexpr uint8_t mask = size - 1;
    static_assert((size & mask) == 0, "a power of two");

    [[nodiscard]] bool is_empty() const { return head_ == tail_; }
    [[nodiscard]] bool is_full() const { return ((head_ + 1) & mask) == tail_; }
    [[nodiscard]] volatile Item& free_place() { return items_[head_]; }
    void put() { head_ = (head_ + 1) & mask; } // the free place is filled
    [[nodiscard]] const volatile Item& oldest() const { return items_[tail_]; }
    void drop() { tail_ = (tail_ + 1) & mask; }

private:
    volatile Item items_[size];
    volatile uint8_t head_ = 0;
    volatile uint8_t tail_ = 0;
};

} // namespace controller
} // namespace dropledger
