#include "analysis/field/input/droplogs.hpp"

#include "analysis/base/results.hpp"
#include "analysis/ledger/run_ledger.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <limits>
#include <memory>
#include <utility>

namespace dropledger::field {

namespace {

// One gate's entries as drops of a row; north counts from the position 0 of travel.
class RowSink final : public ledger::EntrySink {
public:
    explicit RowSink(bool has_places) : has_places_(has_places) {}

    void entry(const ledger::Entry& entry) override {
        const auto index = static_cast<std::int64_t>(entry.drop.index);
        if (new_segment_ &&
            index + base_ <= last_) // counted anew after a boot: a hole keeps the two apart
            base_ = last_ + 2 - index;
        new_segment_ = false;
        last_ = index + base_;
        FieldDrop drop;
        drop.drop = last_;
        drop.time_s = static_cast<double>(entry.drop.time_us) / 1e6;
        drop.at.y = static_cast<double>(entry.drop.position_um) / 1e6;
        drop.target = entry.drop.target;
        drop.seen = entry.seeds;
        drop.line = static_cast<std::uint32_t>(entry.drop.line);
        if (has_places_ && entry.seeds > 0) {
            drop.has_offset = true;
            drop.offset_mm = static_cast<float>(entry.error_um()) / 1000.0F;
        }
        drops_.push_back(drop);
    }
    void assigned(const ledger::Landing&, std::int64_t) override {}
    void stray(const ledger::Landing&) override {}
    void landed(const ledger::Landing&) override {}
    void segment_ended() override { new_segment_ = true; }

    [[nodiscard]] std::vector<FieldDrop> take() { return std::move(drops_); }

private:
    bool has_places_;
    bool new_segment_ = false;
    std::int64_t base_ = 0;
    std::int64_t last_ = -1;
    std::vector<FieldDrop> drops_;
};

using Sinks = std::map<std::pair<int, int>, std::unique_ptr<RowSink>>; // channel, gate

struct RowOfLog {
    std::vector<FieldDrop> drops;
    std::string unit;
    int gate = 0;
    bool blocked = false;
};

struct Pass {
    std::string started;
    std::optional<double> started_s;
    std::string crop;
    std::map<std::int64_t, RowOfLog> rows;
    std::vector<std::string> notes;
};

Error no_drops(const std::string& file) {
    return input_error(file, "a line commands no drops, so there are no silent ones",
                       "audit it by itself: dropledger audit " + file);
}

Result<ledger::RunSetup> setup_of(const droplog::Header& header, const std::string& file) {
    auto setup = ledger::run_setup(header, {});
    if (!setup)
        return setup;
    if (setup->mode == ledger::Mode::line)
        return no_drops(file);
    if (!setup->spacing_um)
        return input_error("setting spacing_um",
                           "the log does not say how far apart drops were commanded",
                           "a field audit needs logs that do");
    return setup;
}

bool rows_are_stated(const std::map<int, ledger::ChannelOutcome>& channels) {
    std::set<int> rows;
    for (const auto& [number, outcome] : channels)
        if (!outcome.setup.row || !rows.insert(*outcome.setup.row).second)
            return false;
    return true;
}

bool was_blocked(const ledger::RunLedger& ledger, int channel) {
    return std::any_of(
        ledger.faults().begin(), ledger.faults().end(), [&](const ledger::Fault& fault) {
            return fault.is(droplog::FaultCode::gate_blocked) && fault.concerns(channel);
        });
}

void note_integrity(const std::string& file, const droplog::Integrity& integrity, Pass& pass) {
    if (!integrity.complete())
        pass.notes.push_back(
            file + ": the log is incomplete; drops that it lost are not counted as silent.");
    if (!integrity.seals.intact)
        pass.notes.push_back(
            file +
            ": the seal chain is broken; the log was changed or damaged after it was written.");
    if (integrity.boots > 1)
        pass.notes.push_back(file + ": the controller started anew during the pass.");
}

Pass pass_of(const std::string& file, const droplog::Reading& reading,
             const ledger::RunLedger& ledger, Sinks& sinks) {
    Pass pass;
    pass.started = reading.header.started;
    pass.started_s = parse_time(pass.started, 0);
    if (const std::string* const crop = reading.header.find("crop"))
        pass.crop = *crop;
    note_integrity(file, reading.integrity, pass);
    const bool stated = rows_are_stated(ledger.channels());
    if (!stated)
        pass.notes.push_back(
            file + ": rows are not stated one by one; a row is its channel's number plus one.");
    for (const auto& [number, outcome] : ledger.channels()) {
        const int gate = outcome.gates.at(outcome.judge).gate().number;
        RowOfLog row{.drops = sinks.at({number, gate})->take(),
                     .unit = outcome.setup.unit,
                     .gate = gate,
                     .blocked = was_blocked(ledger, number)};
        if (!row.drops.empty())
            pass.rows.emplace(stated ? *outcome.setup.row : number + 1, std::move(row));
    }
    return pass;
}

Result<Pass> read_pass(const NamedLog& log, ledger::KnownRun known = {}) {
    const bool first_time = known.directions.empty();
    auto source = log.open();
    if (!source)
        return source.error();
    Sinks sinks;
    ledger::RunLedger ledger(
        [&](const droplog::Header& header) { return setup_of(header, log.file); },
        [&](const ledger::RunSetup&, const ledger::ChannelSetup& channel,
            const ledger::Gate& gate) -> ledger::EntrySink& {
            auto& sink = sinks[{channel.channel, gate.number}];
            sink = std::make_unique<RowSink>(gate.place == ledger::GatePlace::below);
            return *sink;
        },
        std::move(known));
    auto reading = droplog::read_log(**source, log.file, ledger);
    if (!reading)
        return reading.error();
    ledger.finish();
    if (ledger.failure()) {
        Error error = *ledger.failure();
        if (error.where != log.file)
            error.where = fmt::format("{}: {}", log.file, error.where);
        return error;
    }
    if (ledger.misdirected() && first_time)
        return read_pass(log, {.registrations = {}, .directions = ledger.directions()});
    return pass_of(log.file, *reading, ledger, sinks);
}

struct Stretch {
    double low = std::numeric_limits<double>::max();
    double high = std::numeric_limits<double>::lowest();
};

Stretch stretch_of(const Pass& pass) {
    Stretch stretch;
    for (const auto& [number, row] : pass.rows)
        for (const FieldDrop& drop : row.drops) {
            stretch.low = std::min(stretch.low, drop.at.y);
            stretch.high = std::max(stretch.high, drop.at.y);
        }
    return stretch;
}

struct Layout {
    double row_spacing_m = 0.5;
    bool same_direction = false;
    std::int64_t rows = 1; // side by side in a pass
    double longest_m = 0.0;

    void place(std::int64_t pass, std::int64_t row, const Stretch& stretch,
               std::vector<FieldDrop>& drops) const {
        const bool back = !same_direction && pass % 2 == 0;
        for (FieldDrop& drop : drops) {
            drop.at.x = row_spacing_m * static_cast<double>((pass - 1) * rows + row);
            drop.at.y = back ? longest_m - (drop.at.y - stretch.low) : drop.at.y - stretch.low;
        }
    }
};

Layout layout_of(const std::vector<Pass>& passes, const DroplogOptions& options) {
    Layout layout{.row_spacing_m = options.row_spacing_mm / 1000.0,
                  .same_direction = options.same_direction};
    for (const Pass& pass : passes) {
        const Stretch stretch = stretch_of(pass);
        layout.longest_m = std::max(layout.longest_m, stretch.high - stretch.low);
        if (!pass.rows.empty())
            layout.rows = std::max(layout.rows, pass.rows.rbegin()->first);
    }
    return layout;
}

void add_row(Field& field, const LineKey& key, RowOfLog row) {
    for (const FieldDrop& drop : row.drops)
        field.has_offsets |= drop.has_offset;
    field.gate = row.gate;
    if (row.blocked)
        field.gate_blocked.insert(key);
    const auto [known, first] = field.units.emplace(key.row, row.unit);
    if (!first && known->second != row.unit)
        field.notes.push_back(fmt::format("Row {}: unit {} in earlier passes, {} in pass {}.",
                                          key.row, known->second, row.unit, key.pass));
    field.lines[key] = Line(row.drops);
}

void add_pass(Field& field, Pass pass, std::int64_t number, const Layout& layout) {
    const Stretch stretch = stretch_of(pass);
    field.notes.insert(field.notes.end(), pass.notes.begin(), pass.notes.end());
    if (field.crop.empty())
        field.crop = pass.crop;
    for (auto& [row_number, row] : pass.rows) {
        layout.place(number, row_number, stretch, row.drops);
        for (FieldDrop& drop : row.drops)
            drop.time_s = pass.started_s ? drop.time_s + *pass.started_s : 0.0;
        add_row(field, {number, row_number}, std::move(row));
    }
}

std::string layout_note(const Layout& layout) {
    return fmt::format(
        "Places are made up, for a log knows only travel: north is travel, passes lie side by side "
        "in the order "
        "in which they began, rows {:.0f} mm apart{}. Lengths along a row are as travelled.",
        1000.0 * layout.row_spacing_m,
        layout.same_direction ? "" : ", every second pass runs back");
}

} // namespace

Result<bool> is_droplog(const OpenBytes& open) {
    constexpr std::string_view beginning = "@droplog,";
    auto source = open();
    if (!source)
        return source.error();
    std::array<char, beginning.size()> bytes{};
    std::size_t held = 0;
    while (held < bytes.size()) {
        const auto size = (*source)->read(std::span<char>(bytes).subspan(held));
        if (!size)
            return size.error();
        if (*size == 0)
            break;
        held += *size;
    }
    return std::string_view(bytes.data(), held) == beginning;
}

Result<Field> read_droplogs(const std::vector<NamedLog>& logs, const DroplogOptions& options) {
    auto read = each(logs, [](const NamedLog& log) { return read_pass(log); });
    if (!read)
        return read.error();
    std::vector<Pass>& passes = *read;
    Field field;
    field.geographic = false;
    field.has_alerts = false;
    field.has_time = std::all_of(passes.begin(), passes.end(),
                                 [](const Pass& pass) { return pass.started_s.has_value(); });
    if (field.has_time)
        std::stable_sort(passes.begin(), passes.end(),
                         [](const Pass& a, const Pass& b) { return *a.started_s < *b.started_s; });
    const Layout layout = layout_of(passes, options);
    std::int64_t number = 0;
    for (Pass& pass : passes)
        add_pass(field, std::move(pass), ++number, layout);
    field.notes.push_back(layout_note(layout));
    settle(field, logs.size() == 1 ? "The log has" : "The logs have");
    if (field.drops == 0)
        return input_error(logs.front().file, "no commanded drops in it",
                           "name a log of a run that sowed");
    return field;
}

} // namespace dropledger::field
