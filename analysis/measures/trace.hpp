// The run drop by drop for a picture: exact up to `most_points` drops, then several drops a point,
// so that a run of any length fits; and the first misses and multiples by index and log line.
//
// Units: µm.
#pragma once

#include "analysis/ledger/entry.hpp"
#include "analysis/measures/entries.hpp"

#include <cstdint>
#include <vector>

namespace dropledger::measures {

struct TracePoint {
    std::uint32_t first_index = 0; // commanded drop
    std::uint32_t drops = 0;
    std::uint32_t few = 0;    // misses, empty or short portions
    std::uint32_t many = 0;   // multiples, portions over their count
    std::uint32_t landed = 0; // drops with at least one seed
    std::uint32_t seeds = 0;
    std::int64_t error_sum_um = 0; // over the landed
    std::int64_t error_least_um = 0;
    std::int64_t error_greatest_um = 0;
};

struct Incident {
    std::uint32_t index = 0;
    EntryKind kind = EntryKind::miss;
    std::uint32_t seeds = 0;
    std::uint64_t line = 0;
    std::int64_t position_um = 0;
};

class Trace {
public:
    static constexpr std::size_t most_points = 8192;
    static constexpr std::size_t most_incidents = 2000;

    void add(const ledger::Entry& entry, EntryKind kind);

    [[nodiscard]] std::uint32_t drops_per_point() const { return drops_per_point_; }
    [[nodiscard]] const std::vector<TracePoint>& points() const { return points_; }
    [[nodiscard]] const std::vector<Incident>& incidents() const { return incidents_; }
    [[nodiscard]] std::uint64_t incident_count() const { return incident_count_; }

private:
    void halve();

    std::uint32_t drops_per_point_ = 1;
    std::vector<TracePoint> points_;
    std::vector<Incident> incidents_;
    std::uint64_t incident_count_ = 0;
};

} // namespace dropledger::measures
