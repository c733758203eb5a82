#include "analysis/measures/sequential_path.hpp"

namespace dropledger::measures {

void SequentialPath::add(bool hit) {
    ++entries_;
    hits_ += hit ? 1 : 0;
    test_.step(hit);
    if (hit && hit_at_.size() < most_hits_drawn)
        hit_at_.push_back(entries_);
}

} // namespace dropledger::measures
