#include "tests/fuzz/reference.hpp"

#include "tests/fuzz/reference_chain.hpp"
#include "tests/fuzz/reference_run.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace reference {

namespace {

using dropledger::parse_uint;
using dropledger::droplog::Integrity;
using Fields = std::vector<std::string>;

class WholeLog {
public:
    bool take(std::string_view with_lf) {
        ++number_;
        line_ = line(with_lf.substr(0, with_lf.size() - 1));
        closing_ = {};
        const bool refused = !sort();
        chain_.take(line_, with_lf);
        return !refused;
    }

    std::optional<Integrity> finish(bool torn) {
        if (found_.lines.used == 0)
            return std::nullopt;
        found_.torn_tail = torn;
        found_.lost += lost_;
        if (!closing_.empty())
            close();
        found_.run_flaws = run_.finish(found_.close_reason == "count");
        found_.starts = run_.starts();
        found_.seals = chain_.seals();
        found_.seals.unsealed_lines = chain_.in_block() - (closing_.empty() ? 0 : 1);
        found_.last_seal = chain_.last();
        return found_;
    }

private:
    bool sort() {
        if (line_.damaged || line_.name == "@damaged")
            ++found_.lines.damaged;
        else if (line_.name.front() == '@' ? !line_.known : !line_.counts_in_seq)
            ++found_.lines.unknown;
        else if (line_.name.front() == '@')
            return sort_host();
        else
            sort_controller();
        return true;
    }

    bool sort_host() {
        ++found_.lines.used;
        found_.extra_fields += line_.extra ? 1U : 0U;
        if (line_.name == "@droplog") {
            if (line_.fields[1] != "1" || found_.has_header)
                return false;
            found_.has_header = true;
        }
        if (line_.name == "@set" || line_.name == "@channel")
            found_.late_settings += begun_ ? 1U : 0U;
        found_.resumed += line_.name == "@resumed" ? 1U : 0U;
        if (line_.name == "@confirmed")
            run_.confirmed();
        if (line_.name == "@sent")
            run_.sent(line_.fields[1]);
        if (line_.name == "@ending") {
            ending_ = line_.fields[1];
            ending_at_ = number_;
        }
        if (line_.name == "@close")
            closing_ = line_.fields;
        return true;
    }

    void sort_controller() {
        const std::string boot = line_.name == "hello" ? line_.fields[4] : "";
        const bool named_now =
            boot_.empty() && static_cast<std::int32_t>(line_.seq - next_) >= 0; // no hello so far
        if (found_.boots == 0 || (!boot.empty() && boot != boot_ && !named_now)) {
            next_ = found_.boots == 0 ? line_.seq : 0;
            begin_boot(boot);
        } else if (!boot.empty()) {
            boot_ = boot;
        }
        if (static_cast<std::int32_t>(line_.seq - next_) < 0) {
            behind();
            return;
        }
        skip_to(line_.seq);
        seen_[line_.seq] = line_.body;
        next_ = line_.seq + 1;
        in_time();
    }

    void begin_boot(const std::string& boot) {
        run_.boot(found_.boots == 0);
        ++found_.boots;
        boot_ = boot;
        seen_.clear();
        found_.lost += lost_;
        lost_ = 0;
        last_tick_us_.reset();
        newest_us_ = 0;
    }

    void behind() {
        const auto seen = seen_.find(line_.seq);
        if (next_ - line_.seq > 65536 || seen == seen_.end())
            ++found_.lines.out_of_order;
        else if (seen->second == line_.body)
            ++found_.lines.repeated;
        else
            ++found_.lines.conflicting;
    }

    void skip_to(std::uint32_t seq) {
        const std::uint32_t skipped = seq - next_;
        if (skipped == 0)
            return;
        ++found_.sequence_gaps;
        found_.missing_lines += skipped;
        if (skipped >= 65536)
            seen_.clear();
        for (; next_ != seq && !seen_.empty(); ++next_)
            seen_.erase(next_);
        next_ = seq;
    }

    void in_time() {
        time_us_ = last_tick_us_
                       ? time_us_ + static_cast<std::int32_t>(line_.tick_us - *last_tick_us_)
                       : line_.tick_us;
        last_tick_us_ = line_.tick_us;
        const std::int64_t behind_us = newest_us_ - time_us_;
        newest_us_ = std::max(newest_us_, time_us_);
        if (behind_us > 1'000'000) {
            ++found_.lines.out_of_order;
            return;
        }
        found_.late += behind_us > 50'000 ? 1U : 0U;
        if (!line_.known) {
            ++found_.lines.unknown;
            return;
        }
        ++found_.lines.used;
        found_.extra_fields += line_.extra ? 1U : 0U;
        if (line_.name == "beat")
            lost_ = std::max(lost_, *parse_uint(line_.fields[4]));
        begun_ |= line_.name != "hello" && line_.name != "beat";
        run_.take(line_);
    }

    void close() {
        found_.close_reason = dropledger::percent_decode(closing_[1]).value_or(closing_[1]);
        chain_.close();
        if (ending_at_ > 0)
            compare_ending();
        if (closing_[2].empty() && closing_[3].empty())
            return;
        found_.public_key = closing_[2];
        found_.is_signed = signature_holds(closing_[2], closing_[3], chain_.last());
        found_.bad_signature = !found_.is_signed;
    }

    void compare_ending() {
        const bool agrees = ending_ == closing_[1] && ending_at_ + 1 == chain_.last_at();
        found_.differing_ending = agrees ? 0 : ending_at_;
        found_.reason_covered = agrees && chain_.seals().intact;
    }

    Integrity found_;
    Line line_;
    Run run_;
    Chain chain_;
    std::uint64_t number_ = 0;
    bool begun_ = false;
    Fields closing_; // of the last line, where it is @close
    std::string boot_;
    std::uint32_t next_ = 0;
    std::map<std::uint32_t, std::string> seen_;
    std::uint64_t lost_ = 0;
    std::optional<std::uint32_t> last_tick_us_;
    std::int64_t time_us_ = 0;
    std::int64_t newest_us_ = 0;
    std::string ending_;
    std::uint64_t ending_at_ = 0; // line of the latest @ending
};

} // namespace

std::optional<Integrity> integrity(std::string_view log) {
    WholeLog whole;
    while (!log.empty()) {
        const auto lf = log.find('\n');
        if (lf == std::string_view::npos)
            return whole.finish(true);
        if (!whole.take(log.substr(0, lf + 1)))
            return std::nullopt;
        log.remove_prefix(lf + 1);
    }
    return whole.finish(false);
}

namespace {

std::string flaws_of(const Integrity& integrity) {
    std::string text;
    for (const dropledger::droplog::FoundFlaw& one : integrity.flaws())
        text += fmt::format("{} {}, ", dropledger::droplog::row_of(one.flaw).key, one.count);
    return text;
}

} // namespace

std::string described(const Integrity& i) {
    return fmt::format(
        "used {} unknown {} damaged {} repeated {} conflicting {} out of order {}; extra {} late "
        "settings {} late {} lost {} gaps {} missing {} boots {} resumed {} torn {} header {} "
        "close {} covered {}; seals {} intact {} bad {} from {} unsealed {}; signed {} bad {} key "
        "{} last {}; "
        "complete {}; starts {}, flaws {}",
        i.lines.used, i.lines.unknown, i.lines.damaged, i.lines.repeated, i.lines.conflicting,
        i.lines.out_of_order, i.extra_fields, i.late_settings, i.late, i.lost, i.sequence_gaps,
        i.missing_lines, i.boots, i.resumed, i.torn_tail, i.has_header,
        i.close_reason.value_or("(none)"), i.reason_covered, i.seals.count, i.seals.intact,
        i.seals.first_bad_line.value_or(0), i.seals.first_bad_block_start, i.seals.unsealed_lines,
        i.is_signed, i.bad_signature, i.public_key, i.last_seal, i.complete(), i.starts,
        flaws_of(i));
}

} // namespace reference
