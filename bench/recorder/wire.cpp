#include "bench/recorder/wire.hpp"

#include <utility>

namespace dropledger::recorder {

void Wire::connect(std::unique_ptr<link::Transport> link) {
    const std::lock_guard lock(writing_);
    link_ = std::move(link);
}

void Wire::drop() {
    const std::lock_guard lock(writing_);
    link_.reset();
}

bool Wire::write(const std::string& line) {
    const std::lock_guard lock(writing_);
    if (!link_)
        return false;
    torn_ = !link_->write((torn_ ? "\n" : "") + line + '\n');
    return !torn_;
}

} // namespace dropledger::recorder
