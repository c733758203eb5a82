#include "bench/capture/formats/samples.hpp"

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/text.hpp"
#include "bench/capture/formats/samples_head.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace dropledger::capture {

namespace {

class SamplesReader {
public:
    SamplesReader(SamplesHead head, std::string where, std::span<const std::string> wires,
                  std::optional<double> rate_hz, ChangeSink& sink)
        : head_(std::move(head)), where_(std::move(where)), wires_(wires), rate_hz_(rate_hz),
          sink_(sink), levels_(wires.size()) {}

    Result<Extent> read(ByteSource& source) {
        CsvReader reader(source, CsvReader::Comments::none, head_.separator);
        CsvRecord record;
        for (;;) {
            const auto more = reader.next(record);
            if (!more)
                return more.error();
            if (!*more)
                break;
            line_ = record.line;
            if (record.line <= head_.line)
                continue;
            if (Status taken = take(record); !taken)
                return taken.error();
        }
        if (!origin_ps_)
            return input_error(where_, "has no rows below its column names", "capture again");
        return extent_;
    }

private:
    [[nodiscard]] Error error(std::string what, std::string remedy) const {
        return input_error(fmt::format("{}:{}", where_, line_), std::move(what), std::move(remedy));
    }

    Status take(const CsvRecord& record) {
        if (record.damaged || record.fields.size() != head_.columns)
            return error(fmt::format("has {} columns, the names have {}", record.fields.size(),
                                     head_.columns),
                         "export the table again");
        const auto at_ps = time_of(record);
        if (!at_ps)
            return at_ps.error();
        if (origin_ps_ && *at_ps - *origin_ps_ < extent_.last_ps)
            return error("time goes back", "sort the rows by time, or export again");
        origin_ps_ = origin_ps_.value_or(*at_ps);
        extent_.last_ps = *at_ps - *origin_ps_;
        if (extent_.last_ps > longest_ps)
            return error("lies over 7 days after the first row", "check the unit of the times");
        if (Status told = sink_.until(extent_.last_ps); !told)
            return told;
        return head_.is_long() ? take_edge(record) : take_sample(record);
    }

    Result<std::int64_t> time_of(const CsvRecord& record) {
        if (!head_.time_column)
            return std::llround(static_cast<double>(rows_++) * 1e12 / *rate_hz_);
        const auto value = csv_number(trim(record.fields[*head_.time_column]), head_.separator);
        const double ps = value.value_or(0.0) * head_.ps_per_unit;
        if (value && std::abs(ps) < 4e18) // so that a difference of two has room, too
            return std::llround(ps);
        return error(fmt::format("`{:.40}` is no time", record.fields[*head_.time_column]),
                     "write seconds, or name the unit with the column: time [us]");
    }

    Status take_sample(const CsvRecord& record) {
        for (std::size_t wire = 0; wire < wires_.size(); ++wire)
            if (Status taken = take_level(wire, record.fields[head_.wire_columns[wire]]); !taken)
                return taken;
        return Done{};
    }

    Status take_edge(const CsvRecord& record) {
        const auto found =
            std::find(wires_.begin(), wires_.end(), trim(record.fields[head_.signal_column]));
        if (found == wires_.end())
            return Done{};
        return take_level(static_cast<std::size_t>(found - wires_.begin()),
                          record.fields[head_.level_column]);
    }

    Status take_level(std::size_t wire, std::string_view text) {
        text = trim(text);
        if (text != "0" && text != "1")
            return error(fmt::format("`{:.40}` of `{}` is neither 0 nor 1", text, wires_[wire]),
                         "export the level of a logic channel, not a voltage");
        const bool high = text == "1";
        if (std::exchange(levels_[wire], high) == high)
            return Done{};
        ++extent_.changes;
        return sink_.change({.at_ps = extent_.last_ps, .wire = wire, .high = high});
    }

    SamplesHead head_;
    std::string where_;
    std::span<const std::string> wires_;
    std::optional<double> rate_hz_;
    ChangeSink& sink_;
    std::vector<std::optional<bool>> levels_;
    std::optional<std::int64_t> origin_ps_; // of the first row: the capture's time 0
    std::uint64_t rows_ = 0;
    std::uint64_t line_ = 0;
    Extent extent_;
};

} // namespace

Result<Extent> read_samples(const OpenBytes& open, const std::string& where,
                            std::span<const std::string> wires,
                            std::optional<double> sample_rate_hz, ChangeSink& sink) {
    auto beginning = open();
    if (!beginning)
        return beginning.error();
    const auto head = find_head(**beginning, where, wires);
    if (!head)
        return head.error();
    if (!head->time_column && !sample_rate_hz)
        return input_error(where, "has no column of times",
                           "say `sample_rate_hz` under [capture] in the wiring file");
    auto source = open();
    if (!source)
        return source.error();
    return SamplesReader(*head, where, wires, sample_rate_hz, sink).read(**source);
}

} // namespace dropledger::capture
