#include "analysis/audit/model/channel_report.hpp"

#include "analysis/base/cases.hpp"

namespace dropledger::audit {

using ledger::Mode;
using measures::LineResult;
using measures::SpacingResult;

namespace {

template <class Variant> auto drops_in(Variant& results) -> decltype(&std::get<0>(results).drops) {
    if (auto* const single = std::get_if<SingleDrops>(&results))
        return &single->drops;
    auto* const portions = std::get_if<Portions>(&results);
    return portions == nullptr ? nullptr : &portions->drops;
}

} // namespace

Mode ChannelReport::mode() const {
    return std::visit(Cases{[](const SingleDrops&) { return Mode::single; },
                            [](const Portions&) { return Mode::portion; },
                            [](const LineResult&) { return Mode::line; },
                            [](const SpacingResult&) { return Mode::single; }},
                      results);
}

Counted ChannelReport::counted() const {
    const auto commanded = [](const CommandedDrops& drops) {
        return Counted{drops.table.drops, "drops"};
    };
    return std::visit(Cases{[&](const SingleDrops& single) { return commanded(single.drops); },
                            [&](const Portions& portions) { return commanded(portions.drops); },
                            [](const LineResult& line) {
                                return Counted{line.segments, "segments"};
                            },
                            [](const SpacingResult& listed) {
                                return Counted{listed.counts.intervals(), "spacings"};
                            }},
                      results);
}

const CommandedDrops* ChannelReport::drops() const {
    return drops_in(results);
}

CommandedDrops* ChannelReport::drops() {
    return drops_in(results);
}

const SpacingResult* ChannelReport::spacing() const {
    if (const SingleDrops* const found = single())
        return found->spacing ? &*found->spacing : nullptr;
    return std::get_if<SpacingResult>(&results);
}

const measures::PlacementResult* ChannelReport::placement() const {
    const CommandedDrops* const found = drops();
    return found != nullptr && found->placement ? &*found->placement : nullptr;
}

} // namespace dropledger::audit
