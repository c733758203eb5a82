// Which severity the next lot of a series is inspected with.
//
// Assumes: lots of one product and one producer, in order; resubmitted lots are not counted.
// Source: ISO 2859-1:1999, clause 9 (from memory, unverified): 2 of 5 or fewer consecutive lots not
// accepted: tightened; 5 in a row accepted on tightened: normal; 5 lots not accepted while on
// tightened: stop; switching score of 30 with steady production and consent: reduced. On reduced:
// back at any lot not accepted, at a count between Ac and Re (MIL-STD-105E table), or when
// production becomes irregular.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/sampling/sampling_plan.hpp"

#include <cstdint>
#include <deque>

namespace dropledger::batch {

struct InspectedLot {
    LotOutcome outcome = LotOutcome::accepted;
    std::int64_t accept = 0; // Ac of the plan used
    // Would pass at the next smaller AQL; counts where Ac >= 2
    bool passes_one_step_tighter = false;
    bool production_steady = true;
};

class Switching {
public:
    // Reduced inspection needs the consent of the responsible authority.
    explicit Switching(bool reduced_permitted) : reduced_permitted_(reduced_permitted) {}

    void add(const InspectedLot& lot);

    [[nodiscard]] Severity next() const { return severity_; }
    // Sampling is discontinued until the supplier has put things right.
    [[nodiscard]] bool stopped() const { return stopped_; }
    [[nodiscard]] int score() const { return score_; }

private:
    void add_normal(const InspectedLot& lot);
    void add_tightened(const InspectedLot& lot);
    void add_reduced(const InspectedLot& lot);
    void enter(Severity severity);
    void keep_score(const InspectedLot& lot);

    bool reduced_permitted_;
    Severity severity_ = Severity::normal;
    bool stopped_ = false;
    int score_ = 0;
    int accepted_in_a_row_ = 0; // on tightened
    int not_accepted_on_tightened_ = 0;
    std::deque<bool> latest_accepted_; // up to five lots on normal
};

// Would the same count pass at the next smaller AQL of the table? No for the smallest AQL.
[[nodiscard]] Result<bool> passes_one_step_tighter(const LotRequest& request,
                                                   std::int64_t nonconforming);

} // namespace dropledger::batch
