#include "analysis/droplog/reader.hpp"

#include "analysis/base/stage.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/decoders.hpp"
#include "analysis/droplog/reasons.hpp"
#include "analysis/droplog/run_check.hpp"
#include "analysis/droplog/seal_check.hpp"
#include "analysis/droplog/sequence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <thread>

namespace dropledger::droplog {

namespace {

constexpr std::int64_t late_us = 50'000;            // the format's promise
constexpr std::int64_t out_of_order_us = 1'000'000; // further behind than the ledger waits
constexpr std::size_t chunks_in_flight = 4;
constexpr std::size_t places_named = 20;
constexpr std::uint64_t most_foreign_bytes = std::uint64_t{16} << 20U; // before a log's first line

void note_place(std::vector<std::uint64_t>& places, std::uint64_t line) {
    if (places.size() < places_named)
        places.push_back(line);
}

std::string decoded(std::string_view text) {
    return percent_decode(text).value_or(std::string{text});
}

// Third stage: each line into the tally, the used ones to the consumer.
class Sorter {
public:
    Sorter(std::string_view name, Consumer& consumer) : name_(name), consumer_(&consumer) {}

    [[nodiscard]] Status take(const Chunk& chunk);
    [[nodiscard]] Result<Reading> finish(const SealCheck& seals);

private:
    [[nodiscard]] Status take_host(const Record& record, std::string_view body);
    void take_setting(const std::vector<std::string_view>& fields);
    void take_close(const std::vector<std::string_view>& fields);
    void take_ending(std::string_view text);
    void take_remark(const std::vector<std::string_view>& fields);
    [[nodiscard]] Status take_header(const std::vector<std::string_view>& fields);
    void take_controller(const Record& record, std::string_view body);
    void pass_on(const Record& record, std::string_view body, std::int64_t time_us);
    [[nodiscard]] bool is_placed(const Record& record, std::string_view body);
    void out_of_order();
    void take_lost(std::uint64_t lost);
    void count_gap();
    void start_boot();
    void begin_once();
    void damaged();
    [[nodiscard]] std::string place() const { return fmt::format("{}:{}", name_, line_); }
    void check_signature(const Hash& last_seal);
    void check_ending();
    [[nodiscard]] Error no_log() const;

    std::string name_;
    Consumer* consumer_;
    Reading reading_;
    Integrity& integrity_ = reading_.integrity;
    Sequence sequence_;
    RunCheck run_check_;
    Clock64 clock_;
    std::int64_t newest_us_ = 0;
    std::uint64_t line_ = 0;
    std::uint64_t bytes_ = 0;
    bool begun_ = false;
    std::string key_;
    std::string signature_;
    std::string close_text_;
    std::string ending_text_;
    std::uint64_t ending_line_ = 0;
    std::uint64_t last_seal_line_ = 0;
    std::uint64_t lost_this_boot_ = 0;
};

Status Sorter::take(const Chunk& chunk) {
    for (const DecodedLine& line : chunk.lines) {
        ++line_;
        const Record& record = line.record;
        integrity_.close_reason.reset(); // only the last line closes a log, and signs it
        if (record.name == LineName::damaged) {
            damaged();
            continue;
        }
        const std::string_view body = chunk.body(line);
        if (record.from_controller())
            take_controller(record, body);
        else if (record.name == LineName::unknown)
            ++integrity_.lines.unknown;
        else if (Status status = take_host(record, body); !status)
            return status.error();
    }
    integrity_.torn_tail |= chunk.torn_tail;
    if (chunk.failure)
        return *chunk.failure;
    bytes_ += chunk.size;
    if (bytes_ > most_foreign_bytes && integrity_.lines.used == 0)
        return no_log();
    return Done{};
}

void Sorter::damaged() {
    ++integrity_.lines.damaged;
    note_place(integrity_.damaged_at, line_);
}

Status Sorter::take_host(const Record& record, std::string_view body) {
    const LineName name = record.name;
    if (name == LineName::host_damaged) {
        damaged();
        return Done{};
    }
    ++integrity_.lines.used;
    integrity_.extra_fields += record.extra_fields ? 1 : 0;
    if (name == LineName::host_droplog)
        return take_header(fields_of(body));
    if (name == LineName::host_set || name == LineName::host_channel)
        take_setting(fields_of(body));
    else if (name == LineName::host_resumed)
        ++integrity_.resumed;
    else if (name == LineName::host_confirmed)
        run_check_.confirmed();
    else if (name == LineName::host_sent)
        run_check_.sent(decoded(fields_of(body)[1]));
    else if (name == LineName::host_seal)
        last_seal_line_ = line_;
    else if (name == LineName::host_ending)
        take_ending(fields_of(body)[1]);
    else if (name == LineName::host_close)
        take_close(fields_of(body));
    else if (name == LineName::host_note)
        take_remark(fields_of(body));
    return Done{};
}

void Sorter::take_close(const std::vector<std::string_view>& fields) {
    close_text_ = fields[1];
    integrity_.close_reason = decoded(fields[1]);
    key_ = fields[2];
    signature_ = fields[3];
}

void Sorter::take_ending(std::string_view text) {
    ending_text_ = text;
    ending_line_ = line_;
}

Status Sorter::take_header(const std::vector<std::string_view>& fields) {
    if (fields[1] != "1")
        return input_error(place(), fmt::format("droplog version '{}', expected 1", fields[1]),
                           "read it with the program version that wrote it");
    if (integrity_.has_header)
        return input_error(place(), "a second @droplog line: two runs in one file",
                           "cut the file before this line and audit the runs one by one");
    integrity_.has_header = true;
    reading_.header.run_id = decoded(fields[2]);
    reading_.header.started = decoded(fields[3]);
    return Done{};
}

void Sorter::take_setting(const std::vector<std::string_view>& fields) {
    if (begun_) {
        ++integrity_.late_settings;
        return;
    }
    if (fields.front() == "@set") {
        reading_.header.run[decoded(fields[1])] = decoded(fields[2]);
        return;
    }
    const auto channel = parse_uint(fields[1]);
    if (channel && *channel < 256)
        reading_.header.channels[static_cast<int>(*channel)][decoded(fields[2])] =
            decoded(fields[3]);
}

void Sorter::take_remark(const std::vector<std::string_view>& fields) {
    auto& remarks = reading_.header.remarks;
    if (!begun_ && remarks.size() < Header::remarks_kept)
        remarks.push_back(decoded(fields[1]));
}

void Sorter::take_controller(const Record& record, std::string_view body) {
    if (!is_placed(record, body))
        return;
    const std::int64_t time_us = clock_.time_us(record.tick_us);
    if (time_us < newest_us_ - out_of_order_us)
        return out_of_order();
    integrity_.late += time_us < newest_us_ - late_us ? 1 : 0;
    newest_us_ = std::max(newest_us_, time_us);
    if (record.name == LineName::unknown_controller) {
        ++integrity_.lines.unknown;
        return;
    }
    ++integrity_.lines.used;
    integrity_.extra_fields += record.extra_fields ? 1 : 0;
    pass_on(record, body, time_us);
}

void Sorter::pass_on(const Record& record, std::string_view body, std::int64_t time_us) {
    run_check_.take(record, line_);
    if (record.name == LineName::beat)
        take_lost(record.count);
    // Settings come before the first line of the run itself; a greeting may precede them.
    const bool greeting = record.name == LineName::hello || record.name == LineName::beat;
    if (!begun_ && greeting)
        return;
    begin_once();
    consumer_->take(Event{record, time_us, line_, body});
}

void Sorter::take_lost(std::uint64_t lost) {
    if (lost > 0 && integrity_.first_lost_line == 0)
        integrity_.first_lost_line = line_;
    lost_this_boot_ = std::max(lost_this_boot_, lost);
}

void Sorter::out_of_order() {
    if (integrity_.lines.out_of_order++ == 0)
        integrity_.first_out_of_order_line = line_;
}

bool Sorter::is_placed(const Record& record, std::string_view body) {
    const std::string_view boot =
        record.name == LineName::hello ? fields_of(body)[4] : std::string_view{};
    switch (sequence_.place(record, boot)) {
    case Place::next:
        return true;
    case Place::after_gap:
        count_gap();
        return true;
    case Place::new_boot:
        start_boot();
        return true;
    case Place::repeated:
        ++integrity_.lines.repeated;
        return false;
    case Place::conflicting:
        ++integrity_.lines.conflicting;
        note_place(integrity_.conflict_at, line_);
        return false;
    case Place::out_of_order:
        out_of_order();
        return false;
    }
    throw BrokenInvariant("a line has no place");
}

void Sorter::count_gap() {
    if (integrity_.sequence_gaps++ == 0)
        integrity_.first_gap_line = line_;
    integrity_.missing_lines += sequence_.skipped();
}

void Sorter::start_boot() {
    integrity_.lost += lost_this_boot_;
    lost_this_boot_ = 0;
    clock_.restart();
    newest_us_ = 0;
    run_check_.boot(line_, integrity_.boots > 0);
    ++integrity_.boots;
    if (sequence_.skipped() > 0)
        count_gap();
    if (begun_)
        consumer_->reboot();
}

void Sorter::begin_once() {
    if (!begun_)
        consumer_->begin(reading_.header);
    begun_ = true;
}

void Sorter::check_signature(const Hash& last_seal) {
    if (!integrity_.close_reason || (key_.empty() && signature_.empty()))
        return;
    const auto key = from_hex<32>(key_);
    const auto signature = from_hex<64>(signature_);
    integrity_.is_signed = key && signature && integrity_.seals.count > 0 &&
                           verifies(*key, *signature, bytes_of(last_seal));
    integrity_.bad_signature = !integrity_.is_signed;
    integrity_.public_key = key_;
}

Error Sorter::no_log() const {
    const bool whole = bytes_ <= most_foreign_bytes;
    return input_error(name_,
                       line_ == 0 ? "no whole line in it"
                                  : fmt::format("not one of its {}{} lines is a droplog line",
                                                whole ? "" : "first ", line_),
                       "give a file that a bench run wrote (NAME.droplog)");
}

// The latest counts: a run that went on after its end was written is ended anew.
void Sorter::check_ending() {
    if (!integrity_.close_reason || ending_line_ == 0)
        return;
    const bool agrees = ending_text_ == close_text_ && ending_line_ + 1 == last_seal_line_;
    integrity_.differing_ending = agrees ? 0 : ending_line_;
    integrity_.reason_covered = agrees && integrity_.seals.intact;
}

Result<Reading> Sorter::finish(const SealCheck& seals) {
    if (integrity_.lines.used == 0)
        return no_log();
    begin_once();
    integrity_.lost += lost_this_boot_;
    run_check_.finish(integrity_.close_reason == name_of(HaltReason::count));
    integrity_.run_flaws = run_check_.flaws();
    integrity_.starts = run_check_.starts();
    integrity_.seals = seals.tally();
    if (integrity_.seals.count > 0)
        integrity_.last_seal = to_hex(seals.last_stated());
    check_signature(seals.last_stated());
    check_ending();
    return std::move(reading_);
}

class IgnoreEvents final : public Consumer {
    void begin(const Header& /*header*/) override {}
    void reboot() override {}
    void take(const Event& /*event*/) override {}
};

} // namespace

std::size_t usual_decoders() {
    return std::thread::hardware_concurrency() >= 4 ? 2 : 1;
}

Result<Reading> read_log(ByteSource& source, std::string_view name, Consumer& consumer,
                         std::size_t decoders) {
    ChunkQueue to_seals{chunks_in_flight};
    ChunkQueue to_sorter{chunks_in_flight};
    SealCheck seals;
    Sorter sorter{name, consumer};

    Stage sealing{[&] {
                      while (const auto chunk = to_seals.pop()) {
                          (*chunk)->wait_until_decoded();
                          seals.take(**chunk);
                      }
                  },
                  [&] { to_seals.close(); }};
    Decoders decoding{source, decoders, to_seals, to_sorter};
    while (const auto chunk = to_sorter.pop()) {
        (*chunk)->wait_until_decoded();
        if (const Status status = sorter.take(**chunk); !status)
            return status.error();
    }
    decoding.finish();
    sealing.finish();
    return sorter.finish(seals);
}

Result<Reading> check_log(ByteSource& source, std::string_view name) {
    IgnoreEvents nobody;
    return read_log(source, name, nobody);
}

} // namespace dropledger::droplog
