// Changes as a reader told them, for tests.
#pragma once

#include "bench/capture/formats/change.hpp"

#include <string>
#include <tuple>
#include <vector>

namespace dropledger::capture {

struct Told final : ChangeSink {
    using Row = std::tuple<std::int64_t, std::size_t, bool>;

    Status change(const Change& change) override {
        rows.emplace_back(change.at_ps, change.wire, change.high);
        return Done{};
    }
    Status until(std::int64_t at_ps) override {
        last_ps = at_ps;
        return Done{};
    }

    std::vector<Row> rows;
    std::int64_t last_ps = -1;
};

} // namespace dropledger::capture
