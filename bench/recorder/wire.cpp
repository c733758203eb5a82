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
    return link_ && link_->write(line + '\n');
}

} // namespace dropledger::recorder
