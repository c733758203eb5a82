// A first-in, first-out buffer that grows and is reused: no allocation once it is warm. After a
// rush it shrinks again, so that what is in use stays in the cache.
//
// Undefined when: front(), back() and [] are asked beyond what is in it.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

namespace dropledger {

template <class T> class Ring {
public:
    [[nodiscard]] bool empty() const { return size_ == 0; }
    [[nodiscard]] std::size_t size() const { return size_; }
    [[nodiscard]] T& operator[](std::size_t i) { return slots_[(first_ + i) & mask_]; }
    [[nodiscard]] const T& operator[](std::size_t i) const { return slots_[(first_ + i) & mask_]; }
    [[nodiscard]] T& front() { return (*this)[0]; }
    [[nodiscard]] const T& front() const { return (*this)[0]; }
    [[nodiscard]] T& back() { return (*this)[size_ - 1]; }
    [[nodiscard]] const T& back() const { return (*this)[size_ - 1]; }

    void push_back(const T& item) {
        if (size_ == slots_.size())
            move_to(slots_.empty() ? least_slots : slots_.size() * 2);
        slots_[(first_ + size_) & mask_] = item;
        ++size_;
    }

    void pop_front() {
        first_ = (first_ + 1) & mask_;
        --size_;
        if (first_ == 0 && slots_.size() > least_slots && size_ < slots_.size() / 8)
            move_to(slots_.size() / 4);
    }

    void clear() { first_ = size_ = 0; }

private:
    static constexpr std::size_t least_slots = 64;

    void move_to(std::size_t count) {
        std::vector<T> slots(count);
        for (std::size_t i = 0; i < size_; ++i)
            slots[i] = std::move((*this)[i]);
        slots_ = std::move(slots);
        mask_ = slots_.size() - 1;
        first_ = 0;
    }

    std::vector<T> slots_;
    std::size_t mask_ = 0;
    std::size_t first_ = 0;
    std::size_t size_ = 0;
};

} // namespace dropledger
