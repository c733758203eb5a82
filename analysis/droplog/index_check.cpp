#include "analysis/droplog/index_check.hpp"

#include <algorithm>

namespace dropledger::droplog {

void IndexCheck::take_beside(std::uint32_t index, std::uint64_t line) {
    if (index < settled_ || (index < end_ && seen_.test(index % window)))
        return repeat(line);
    if (hole_seen_at_ == 0)
        hole_seen_at_ = line;
    if (index >= settled_ + window)
        settle_up_to(index - window + 1);
    seen_.set(index % window);
    end_ = std::max<std::uint64_t>(end_, index + 1ULL);
    while (settled_ < end_ && seen_.test(settled_ % window))
        seen_.reset(settled_++ % window);
    if (settled_ == end_)
        hole_seen_at_ = 0;
}

void IndexCheck::repeat(std::uint64_t line) {
    if (repeated_++ == 0)
        repeated_at_ = line;
}

// Gives up waiting for drops before this one.
void IndexCheck::settle_up_to(std::uint64_t index) {
    const std::uint64_t missing_before = missing_;
    for (; settled_ < std::min(index, end_); ++settled_) {
        missing_ += seen_.test(settled_ % window) ? 0U : 1U;
        seen_.reset(settled_ % window);
    }
    if (index > settled_) {
        missing_ += index - settled_;
        settled_ = index;
    }
    if (missing_before == 0 && missing_ > 0)
        missing_at_ = hole_seen_at_;
}

void IndexCheck::finish() {
    settle_up_to(end_);
}

} // namespace dropledger::droplog
