#include "analysis/field/input/csv_records.hpp"

#include <algorithm>
#include <cstring>

namespace dropledger::field {

namespace {

constexpr std::size_t piece = 262144;

std::string_view without_return(std::string_view line) {
    if (!line.empty() && line.back() == '\r')
        line.remove_suffix(1);
    return line;
}

void split_plain(std::string_view line, char separator, std::vector<std::string_view>& fields) {
    for (;;) {
        const void* const found = std::memchr(line.data(), separator, line.size());
        if (line.empty() || found == nullptr) {
            fields.push_back(line);
            return;
        }
        const auto end = static_cast<std::size_t>(static_cast<const char*>(found) - line.data());
        fields.push_back(line.substr(0, end));
        line.remove_prefix(end + 1);
    }
}

} // namespace

// More bytes behind what is not yet consumed; false at the end of the source.
Result<bool> CsvRecords::fill() {
    buffer_.erase(0, at_);
    at_ = 0;
    const std::size_t before = buffer_.size();
    buffer_.resize(before + piece);
    const auto got = source_->read({buffer_.data() + before, piece});
    buffer_.resize(before + (got ? *got : 0));
    if (!got)
        return got.error();
    if (!started_ && buffer_.starts_with("\xEF\xBB\xBF"))
        at_ = 3;
    started_ = true;
    return *got > 0;
}

// One line of the file without its end, consumed; empty at the end. A line without end is the
// file's last.
Result<std::optional<std::string_view>> CsvRecords::next_line() {
    using Line = std::optional<std::string_view>;
    std::size_t searched = at_;
    for (;;) {
        const std::size_t end = buffer_.find('\n', searched);
        if (end != std::string::npos) {
            const std::string_view line(buffer_.data() + at_, end - at_);
            at_ = end + 1;
            ++line_;
            return Line{without_return(line)};
        }
        if (ended_) {
            if (at_ == buffer_.size())
                return Line{};
            const std::string_view line(buffer_.data() + at_, buffer_.size() - at_);
            at_ = buffer_.size();
            ++line_;
            return Line{without_return(line)};
        }
        const std::size_t pending = buffer_.size() - at_;
        const auto more = fill();
        if (!more)
            return more.error();
        ended_ = !*more;
        searched = at_ + std::min(pending, buffer_.size() - at_);
    }
}

// Fields of a whole record; false where a quote stays open.
bool CsvRecords::split_quoted(std::string_view text, CsvRecord& record) {
    unquoted_.clear();
    std::string field;
    bool quoted = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (quoted && c == '"' && i + 1 < text.size() && text[i + 1] == '"') {
            field += '"';
            ++i;
        } else if (c == '"') {
            quoted = !quoted;
        } else if (c == separator_ && !quoted) {
            unquoted_.push_back(std::move(field));
            field.clear();
        } else {
            field += c;
        }
    }
    unquoted_.push_back(std::move(field));
    record.fields.assign(unquoted_.begin(), unquoted_.end());
    return !quoted;
}

Result<bool> CsvRecords::quoted_record(std::string_view line, CsvRecord& record) {
    if (split_quoted(line, record))
        return true;
    std::string whole(line);
    const std::uint64_t first = line_;
    std::string taken; // lines behind the first, to be given back where the quote never closes
    while (whole.size() < longest_record) {
        const auto more = next_line();
        if (!more)
            return more.error();
        if (!*more)
            break;
        whole.append("\n").append(**more);
        taken.append(**more).append("\n");
        const bool may_close = (*more)->find('"') != std::string_view::npos;
        if (may_close && split_quoted(whole, record))
            return true;
    }
    buffer_.replace(0, at_, taken);
    at_ = 0;
    line_ = first;
    record.fields.clear();
    record.damaged = true;
    return true;
}

Result<bool> CsvRecords::next(CsvRecord& record) {
    for (;;) {
        const auto line = next_line();
        if (!line)
            return line.error();
        if (!*line)
            return false;
        if ((*line)->find_first_not_of(" \t") == std::string_view::npos)
            continue;
        record.fields.clear();
        record.damaged = (*line)->size() > longest_record;
        record.line = line_;
        if (record.damaged)
            return true;
        if ((*line)->find('"') != std::string_view::npos)
            return quoted_record(**line, record);
        split_plain(**line, separator_, record.fields);
        return true;
    }
}

} // namespace dropledger::field
