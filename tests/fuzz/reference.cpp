#include "tests/fuzz/reference.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/sha.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

namespace reference {

namespace {

using dropledger::parse_int;
using dropledger::parse_uint;
using dropledger::droplog::Flaw;
using dropledger::droplog::Integrity;
using Fields = std::vector<std::string>;

constexpr std::uint64_t u8 = 0xff;
constexpr std::uint64_t u16 = 0xffff;
constexpr std::uint64_t u32 = 0xffffffff;
constexpr std::int64_t greatest_position_um = 900'000'000'000'000'000;

bool printable(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

bool is_uint(const std::string& text, std::uint64_t greatest) {
    const auto value = parse_uint(text);
    return text.size() <= 18 && value && *value <= greatest;
}

bool is_int(std::string text, std::int64_t greatest) {
    const auto value = parse_int(text);
    text.erase(0, text.starts_with('-') ? 1 : 0);
    return text.size() <= 18 && value && *value >= -greatest && *value <= greatest;
}

// What stands in each field after SEQ and TICK: b, h, w unsigned of 8, 16, 32 bits; p a position; c
// a channel or -1; t text that is not empty; upper case: may be missing.
const std::map<std::string, std::string> controller_shapes{
    {"hello", "wtwt"}, {"travel", "p"}, {"drop", "bwpw"}, {"pulse", "bhwh"}, {"beat", "ww"},
    {"fault", "ct"},   {"armed", ""},   {"started", ""},  {"halted", "T"},   {"refused", "t"}};

// The same for host lines: a is anything, n a time.
const std::map<std::string, std::string> host_shapes{
    {"@droplog", "aaa"}, {"@set", "aa"},    {"@channel", "baa"}, {"@sent", "a"},
    {"@at", "wn"},       {"@note", "a"},    {"@damaged", "a"},   {"@resumed", "n"},
    {"@seal", "aa"},     {"@close", "aaa"}, {"@confirmed", "n"}};

bool fits(const std::string& field, char shape) {
    switch (shape) {
    case 'b':
        return is_uint(field, u8);
    case 'h':
        return is_uint(field, u16);
    case 'w':
        return is_uint(field, u32);
    case 'p':
        return is_int(field, greatest_position_um);
    case 'n':
        return is_int(field, 999'999'999'999'999'999);
    case 'c':
        return is_int(field, static_cast<std::int64_t>(u8)) && *parse_int(field) >= -1;
    case 't':
    case 'T':
        return !field.empty();
    default:
        return true;
    }
}

bool fit(const Fields& fields, std::size_t from, const std::string& shapes) {
    for (std::size_t i = 0; i < shapes.size(); ++i) {
        const bool missing = from + i >= fields.size();
        if (missing && shapes[i] != 'T')
            return false;
        if (!missing && !fits(fields[from + i], shapes[i]))
            return false;
    }
    return true;
}

void take_host(Line& line) {
    const auto shape = host_shapes.find(line.name);
    line.known = shape != host_shapes.end();
    const bool other_version = line.name == "@droplog" && line.fields.size() > 1 &&
                               !line.fields[1].empty() && line.fields[1] != "1";
    line.damaged = line.known && !other_version && !fit(line.fields, 1, shape->second);
}

void take_controller(Line& line) {
    const auto shape = controller_shapes.find(line.name);
    line.known = shape != controller_shapes.end();
    line.counts_in_seq =
        line.fields.size() > 2 && is_uint(line.fields[1], u32) && is_uint(line.fields[2], u32);
    line.damaged = line.known && (!line.counts_in_seq || !fit(line.fields, 3, shape->second));
    if (line.counts_in_seq) {
        line.seq = static_cast<std::uint32_t>(*parse_uint(line.fields[1]));
        line.tick_us = static_cast<std::uint32_t>(*parse_uint(line.fields[2]));
    }
}

std::string hex(std::string_view bytes) {
    return dropledger::droplog::to_hex(bytes);
}

std::string sha256_hex(std::string_view bytes) {
    std::array<unsigned char, SHA256_DIGEST_LENGTH> hash{};
    ::SHA256(reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(), hash.data());
    return hex({reinterpret_cast<const char*>(hash.data()), hash.size()});
}

// The bytes that lower- or upper-case hex stands for, where it is exactly `size` of them.
std::optional<std::string> bytes_of(const std::string& text, std::size_t size) {
    std::string bytes;
    for (std::size_t i = 0; i + 1 < text.size(); i += 2) {
        const auto byte = dropledger::percent_decode("%" + text.substr(i, 2));
        if (!byte || byte->size() != 1)
            return std::nullopt;
        bytes += *byte;
    }
    return text.size() == 2 * size ? std::optional{bytes} : std::nullopt;
}

bool signature_holds(const std::string& key_hex, const std::string& signature_hex,
                     const std::string& seal_hex) {
    const auto key = bytes_of(key_hex, 32);
    const auto signature = bytes_of(signature_hex, 64);
    const auto seal = bytes_of(seal_hex, 32);
    if (!key || !signature || !seal)
        return false;
    const auto at = [](const std::string& s) {
        return reinterpret_cast<const unsigned char*>(s.data());
    };
    EVP_PKEY* open = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, nullptr, at(*key), key->size());
    EVP_MD_CTX* context = EVP_MD_CTX_new();
    const bool holds =
        open != nullptr && EVP_DigestVerifyInit(context, nullptr, nullptr, nullptr, open) == 1 &&
        EVP_DigestVerify(context, at(*signature), signature->size(), at(*seal), seal->size()) == 1;
    EVP_MD_CTX_free(context);
    EVP_PKEY_free(open);
    return holds;
}

class WholeLog {
public:
    bool take(std::string_view with_lf) {
        ++number_;
        line_ = line(with_lf.substr(0, with_lf.size() - 1));
        closing_ = {};
        const bool refused = !sort();
        take_seal(with_lf);
        return !refused;
    }

    std::optional<Integrity> finish(bool torn) {
        if (found_.lines.used == 0)
            return std::nullopt;
        found_.torn_tail = torn;
        found_.lost += lost_;
        if (!closing_.empty())
            close();
        finish_run();
        found_.seals.unsealed_lines = in_block_ - (closing_.empty() ? 0 : 1);
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
        found_.extra_fields +=
            line_.fields.size() > host_shapes.at(line_.name).size() + 1 ? 1U : 0U;
        if (line_.name == "@droplog") {
            if (line_.fields[1] != "1" || found_.has_header)
                return false;
            found_.has_header = true;
        }
        if (line_.name == "@set" || line_.name == "@channel")
            found_.late_settings += begun_ ? 1U : 0U;
        found_.resumed += line_.name == "@resumed" ? 1U : 0U;
        confirmed_ |= line_.name == "@confirmed";
        if (line_.name == "@sent")
            take_sent();
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
        flaw(Flaw::reset_in_run, found_.boots > 0 && running_ ? 1 : 0);
        end_part();
        greeted_ = started_ = running_ = false;
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
        const bool extra = line_.fields.size() > controller_shapes.at(line_.name).size() + 3;
        found_.extra_fields += extra ? 1U : 0U;
        if (line_.name == "beat")
            lost_ = std::max(lost_, *parse_uint(line_.fields[4]));
        begun_ |= line_.name != "hello" && line_.name != "beat";
        take_run();
    }

    // The part of a run between a start, or a boot, and the next.
    struct Part {
        std::map<std::uint64_t, std::set<std::uint64_t>> drops; // by channel
        std::map<std::uint64_t, std::uint64_t> repeated;
    };

    void flaw(Flaw kind, std::uint64_t count) {
        if (count > 0)
            flaws_[kind] += count;
    }
    void flaw_once(Flaw kind) { flaws_[kind] = 1; }

    void take_run() {
        if (line_.name == "hello")
            greeted_ = true;
        if (line_.name == "started") {
            if (!greeted_)
                flaw_once(Flaw::no_hello);
            end_part();
            last_drops_.clear();
            flaw(Flaw::several_starts, ++found_.starts > 1 && !confirmed_ ? 1 : 0);
            started_ = running_ = true;
            confirmed_ = halted_ = false;
            order_ = sent_;
        }
        if (line_.name == "halted") {
            halted_ = true;
            running_ = false;
        }
        if ((line_.name == "drop" && !started_) || (line_.name == "pulse" && found_.starts == 0))
            flaw_once(Flaw::no_started);
        if (line_.name == "drop")
            take_drop(*parse_uint(line_.fields[3]), *parse_uint(line_.fields[4]));
    }

    // Further than 1023 behind the highest, a drop can't be told from one that is there twice.
    void take_drop(std::uint64_t channel, std::uint64_t index) {
        auto& drops = part_.drops[channel];
        const bool too_late = !drops.empty() && index + 1023 < *drops.rbegin();
        if (too_late || !drops.insert(index).second)
            ++part_.repeated[channel];
    }

    void end_part() {
        for (const auto& [channel, drops] : part_.drops) {
            last_drops_[channel] = *drops.rbegin() + 1;
            flaw(Flaw::index_gap, *drops.rbegin() + 1 - drops.size());
            flaw(Flaw::index_repeated, part_.repeated[channel]);
        }
        part_ = {};
    }

    void take_sent() {
        const Line sent =
            line(dropledger::percent_decode(line_.fields[1]).value_or(line_.fields[1]));
        if (sent.fields.size() < 7 || sent.name != "arm")
            return;
        if (parse_uint(sent.fields[5]) && parse_uint(sent.fields[6]))
            sent_ = sent.fields;
    }

    void finish_run() {
        end_part();
        if (found_.starts == 0) {
            flaw_once(Flaw::no_started);
            if (!greeted_)
                flaw_once(Flaw::no_hello);
        }
        if (found_.starts > 0 && found_.close_reason == "count")
            check_order();
        for (const auto& [kind, count] : flaws_)
            found_.run_flaws.push_back({kind, count, 0});
    }

    void check_order() {
        if (!halted_)
            flaw_once(Flaw::no_halted);
        if (order_.empty())
            return flaw_once(Flaw::no_order);
        if (order_[1] == "line")
            return;
        const std::uint64_t mask = *parse_uint(order_[5]);
        for (std::uint64_t channel = 0; channel < 256; ++channel) {
            const bool ordered = channel < 64 && (mask >> channel) % 2 == 1;
            const std::uint64_t asked = ordered ? *parse_uint(order_[6]) : 0;
            const std::uint64_t there = last_drops_.count(channel) > 0 ? last_drops_[channel] : 0;
            flaw(Flaw::count_not_agreed, std::max(asked, there) - std::min(asked, there));
        }
    }

    void take_seal(std::string_view with_lf) {
        if (line_.damaged || line_.name != "@seal") {
            block_ += with_lf;
            ++in_block_;
            damage_in_block_ |= line_.damaged;
            return;
        }
        ++found_.seals.count;
        const std::string hash = sha256_hex(link_ + block_);
        if (line_.fields[1] != std::to_string(in_block_) || line_.fields[2] != hash)
            bad_seal();
        found_.last_seal = bytes_of(line_.fields[2], 32) ? line_.fields[2] : hash;
        link_ = *bytes_of(found_.last_seal, 32);
        found_.last_seal = hex(link_);
        block_.clear();
        in_block_ = 0;
        damage_in_block_ = false;
        block_start_ = number_ + 1;
    }

    void bad_seal() {
        if (!found_.seals.intact)
            return;
        found_.seals.intact = false;
        found_.seals.first_bad_line = number_;
        found_.seals.first_bad_block_start = block_start_;
    }

    void close() {
        found_.close_reason = dropledger::percent_decode(closing_[1]).value_or(closing_[1]);
        if (in_block_ > 1 && (found_.seals.count > 0 || damage_in_block_))
            bad_seal();
        if (closing_[2].empty() && closing_[3].empty())
            return;
        found_.public_key = closing_[2];
        found_.is_signed = signature_holds(closing_[2], closing_[3], found_.last_seal);
        found_.bad_signature = !found_.is_signed;
    }

    Integrity found_;
    Line line_;
    bool greeted_ = false;
    bool started_ = false;
    bool running_ = false;
    bool halted_ = false;
    bool confirmed_ = false;
    Fields sent_;
    Fields order_;
    Part part_;
    std::map<std::uint64_t, std::uint64_t> last_drops_;
    std::map<Flaw, std::uint64_t> flaws_;
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
    std::string link_ = std::string(32, '\0');
    std::string block_;
    std::uint64_t in_block_ = 0;
    bool damage_in_block_ = false;
    std::uint64_t block_start_ = 1;
};

} // namespace

std::uint16_t crc16(std::string_view bytes) {
    unsigned crc = 0xFFFF;
    for (const char c : bytes) {
        crc ^= static_cast<unsigned>(static_cast<unsigned char>(c)) << 8U;
        for (int bit = 0; bit < 8; ++bit)
            crc = (crc & 0x8000U) != 0U ? ((crc << 1U) ^ 0x1021U) & 0xffffU : (crc << 1U) & 0xffffU;
    }
    return static_cast<std::uint16_t>(crc);
}

Line line(std::string_view text) {
    Line line;
    if (text.ends_with('\r'))
        text.remove_suffix(1);
    if (text.size() <= 5 || text.size() > 239)
        return line;
    line.body = text.substr(0, text.size() - 5);
    if (text.substr(line.body.size()) != fmt::format("*{:04X}", crc16(line.body)))
        return line;
    for (const std::string_view field : dropledger::split(line.body, ','))
        line.fields.emplace_back(field);
    line.name = line.fields.front();
    if (!printable(line.body) || line.name.empty())
        return line;
    if (line.name.front() == '@')
        take_host(line);
    else
        take_controller(line);
    if (!line.known)
        line.damaged = false;
    return line;
}

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
        "close {}; seals {} intact {} bad {} from {} unsealed {}; signed {} bad {} key {} last {}; "
        "complete {}; starts {}, flaws {}",
        i.lines.used, i.lines.unknown, i.lines.damaged, i.lines.repeated, i.lines.conflicting,
        i.lines.out_of_order, i.extra_fields, i.late_settings, i.late, i.lost, i.sequence_gaps,
        i.missing_lines, i.boots, i.resumed, i.torn_tail, i.has_header,
        i.close_reason.value_or("(none)"), i.seals.count, i.seals.intact,
        i.seals.first_bad_line.value_or(0), i.seals.first_bad_block_start, i.seals.unsealed_lines,
        i.is_signed, i.bad_signature, i.public_key, i.last_seal, i.complete(), i.starts,
        flaws_of(i));
}

} // namespace reference
