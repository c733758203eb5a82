#include "analysis/measures/channel_tally.hpp"

namespace dropledger::measures {

using ledger::Mode;

ChannelTally::ChannelTally(const TallySettings& settings)
    : settings_(settings), entries_(settings.mode) {
    if (settings.mode == Mode::line)
        line_.emplace(settings.segment_um);
    else if (settings.mode == Mode::single && settings.spacing_um)
        spacing_.emplace(*settings.spacing_um);
    if (settings.miss_plan)
        miss_path_.emplace(*settings.miss_plan, settings.most_drops);
    if (settings.multiples_plan)
        multiples_path_.emplace(*settings.multiples_plan, settings.most_drops);
}

void ChannelTally::entry(const ledger::Entry& entry) {
    const EntryKind kind = entries_.add(entry);
    if (entry.seeds > 0)
        placement_.add_entry(entry.error_um(), entry.seeds);
    trace_.add(entry, kind);
    if (miss_path_)
        miss_path_->add(entry.seeds == 0);
    if (multiples_path_)
        multiples_path_->add(kind == EntryKind::multiple || kind == EntryKind::over);
}

void ChannelTally::assigned(const ledger::Landing& landing, std::int64_t error_um) {
    entries_.add_seeds(landing.seeds);
    placement_.add_landing(error_um, landing.seeds);
}

void ChannelTally::stray(const ledger::Landing& landing) {
    entries_.add_seeds(landing.seeds);
    entries_.add_stray(landing.seeds);
}

void ChannelTally::landed(const ledger::Landing& landing) {
    if (line_)
        line_->add(landing.position_um, landing.seeds);
    if (!spacing_)
        return;
    if (last_landing_um_ && landing.position_um < *last_landing_um_)
        return; // travel turned back further than the ledger waits: its neighbours are gone
    if (last_landing_um_)
        spacing_->add(landing.position_um - *last_landing_um_);
    for (std::uint32_t extra = 1; extra < landing.seeds; ++extra)
        spacing_->add(0); // seeds in one pulse land together
    last_landing_um_ = landing.position_um;
}

void ChannelTally::segment_ended() {
    last_landing_um_.reset();
    if (line_)
        line_->end_segment();
}

} // namespace dropledger::measures
