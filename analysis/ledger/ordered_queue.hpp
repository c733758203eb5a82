// A queue that gives its items back least first, and equal ones in the order they came.
//
// What comes in order costs what a ring costs; what comes out of order costs a logarithm, however
// far out.
// Undefined when: front() and pop() are asked of an empty queue.
#pragma once

#include "analysis/base/ring.hpp"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace dropledger::ledger {

// `Before` is stateless: Before{}(a, b) says that a is less than b.
template <class Item, class Before> class OrderedQueue {
public:
    [[nodiscard]] bool empty() const { return in_order_.empty(); }
    [[nodiscard]] std::size_t size() const { return in_order_.size() + late_.size(); }

    [[nodiscard]] const Item& front() const {
        return late_is_first() ? late_.front().item : in_order_.front();
    }

    void push(const Item& item) {
        if (in_order_.empty() || !Before{}(item, in_order_.back()))
            return in_order_.push_back(item);
        push_late(item);
    }

    void pop() {
        if (!late_is_first())
            return in_order_.pop_front();
        std::pop_heap(late_.begin(), late_.end(), After{});
        late_.pop_back();
    }

    void clear() {
        in_order_.clear();
        late_.clear();
    }

private:
    struct Late {
        Item item;
        std::uint64_t number = 0;
    };
    struct After {
        bool operator()(const Late& a, const Late& b) const {
            if (Before{}(a.item, b.item) || Before{}(b.item, a.item))
                return Before{}(b.item, a.item);
            return a.number > b.number;
        }
    };

    // By value, and never a part of push(): an item whose address is known to be given away is
    // written to memory twice, and what reads it in between waits.
    [[gnu::noinline]] void push_late(Item item) {
        late_.push_back({item, pushed_++});
        std::push_heap(late_.begin(), late_.end(), After{});
    }

    // Late items are less than the last one in order, so that one outlasts them all; of equal ones
    // those in order came earlier.
    [[nodiscard]] bool late_is_first() const {
        return !late_.empty() && Before{}(late_.front().item, in_order_.front());
    }

    Ring<Item> in_order_;
    std::vector<Late> late_; // a heap, the least on top
    std::uint64_t pushed_ = 0;
};

} // namespace dropledger::ledger
