#include "analysis/measures/sequential_path.hpp"

namespace dropledger::measures {

void SequentialPath::add(bool hit) {
    const bool open = test_.decision() == statistics::Decision::go_on;
    counter_.add(hit);
    test_.step(hit);
    if (open)
        rows_then_ = counter_.rows();
    if (hit && hit_at_.size() < most_hits_drawn)
        hit_at_.push_back(entries());
}

} // namespace dropledger::measures
