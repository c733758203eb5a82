#include "analysis/base/readers/csv_reader.hpp"

#include "analysis/base/text.hpp"

#include <algorithm>
#include <array>
#include <cstring>

namespace dropledger {

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

char separator_in(std::string_view header) {
    constexpr std::array known{',', ';', '\t'};
    std::array<std::size_t, known.size()> counts{};
    bool quoted = false;
    for (const char c : header) {
        quoted ^= c == '"';
        for (std::size_t i = 0; i < known.size() && !quoted; ++i)
            counts.at(i) += c == known.at(i) ? 1U : 0U;
    }
    const auto most = std::max_element(counts.begin(), counts.end());
    return *most == 0 ? only_column : known.at(static_cast<std::size_t>(most - counts.begin()));
}

bool is_odd(std::string_view text) {
    return std::count(text.begin(), text.end(), '"') % 2 != 0;
}

// One to three digits, then groups of three.
bool may_be_thousands(std::string_view text) {
    if (!text.empty() && (text.front() == '-' || text.front() == '+'))
        text.remove_prefix(1);
    const auto groups = split(text, ',');
    const auto has_three = [](std::string_view group) { return group.size() == 3; };
    return groups.front() != "0" && !groups.front().empty() && groups.front().size() <= 3 &&
           std::all_of(groups.begin() + 1, groups.end(), has_three);
}

} // namespace

std::optional<double> csv_number(std::string_view text, char separator) {
    const bool has_comma = text.find(',') != std::string_view::npos;
    if (!has_comma || separator == ',')
        return parse_double(text);
    if (text.find('.') != std::string_view::npos || (separator != ';' && may_be_thousands(text)))
        return std::nullopt;
    std::string dotted(text);
    std::replace(dotted.begin(), dotted.end(), ',', '.');
    return parse_double(dotted);
}

// More bytes behind what is not yet consumed; false at the end of the source.
Result<bool> CsvReader::fill() {
    constexpr std::string_view mark = "\xEF\xBB\xBF";
    buffer_.erase(0, at_);
    at_ = 0;
    for (;;) {
        const std::size_t before = buffer_.size();
        buffer_.resize(before + piece);
        const auto got = source_->read({buffer_.data() + before, piece});
        buffer_.resize(before + (got ? *got : 0));
        if (!got)
            return got.error();
        if (!started_ && *got > 0 && buffer_.size() < mark.size())
            continue;
        if (!started_ && buffer_.starts_with(mark))
            at_ = mark.size();
        started_ = true;
        return *got > 0;
    }
}

CsvReader::Line CsvReader::taken(std::size_t end, std::size_t next) {
    const Line line{without_return({buffer_.data() + at_, end - at_}), too_long_};
    too_long_ = false;
    at_ = next;
    ++line_;
    return line;
}

// One line of the file, consumed; empty at the end. A line without end is the file's last; of a
// line beyond all measure only the end is kept.
Result<std::optional<CsvReader::Line>> CsvReader::next_line() {
    std::size_t searched = at_;
    for (;;) {
        const std::size_t end = buffer_.find('\n', searched);
        if (end != std::string::npos)
            return std::optional{taken(end, end + 1)};
        if (ended_)
            return at_ == buffer_.size() && !too_long_
                       ? std::optional<Line>{}
                       : std::optional{taken(buffer_.size(), buffer_.size())};
        if (buffer_.size() - at_ > longest_record) {
            too_long_ = true;
            at_ = buffer_.size();
        }
        const std::size_t pending = buffer_.size() - at_;
        const auto more = fill();
        if (!more)
            return more.error();
        ended_ = !*more;
        searched = at_ + std::min(pending, buffer_.size() - at_);
    }
}

bool CsvReader::is_too_long(const Line& line) {
    return line.too_long || line.text.size() > longest_record;
}

bool CsvReader::is_skipped(std::string_view line) const {
    const auto first = line.find_first_not_of(" \t");
    return first == std::string_view::npos || (comments_ == Comments::lines && line[first] == '#');
}

void CsvReader::split_quoted(std::string_view text, CsvRecord& record) {
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
        } else if (c == separator() && !quoted) {
            unquoted_.push_back(std::move(field));
            field.clear();
        } else {
            field += c;
        }
    }
    unquoted_.push_back(std::move(field));
    record.fields.assign(unquoted_.begin(), unquoted_.end());
}

void CsvReader::give_back(const std::string& lines, std::uint64_t first, CsvRecord& record) {
    buffer_.replace(0, at_, lines);
    at_ = 0;
    line_ = first;
    record.damaged = true;
}

// A record is whole where its quotes are even in number.
Status CsvReader::quoted_record(std::string_view line, CsvRecord& record) {
    std::string whole(line);
    const std::uint64_t first = line_;
    std::string behind; // lines after the first, to be given back where the quote never closes
    bool open = is_odd(line);
    while (open && whole.size() < longest_record) {
        const auto more = next_line();
        if (!more)
            return more.error();
        if (!*more)
            break;
        if (is_too_long(**more)) {
            behind.append(longest_record + 1, ' ').append("\n"); // stands for it
            break;
        }
        whole.append("\n").append((*more)->text);
        behind.append((*more)->text).append("\n");
        open ^= is_odd((*more)->text);
    }
    if (open)
        give_back(behind, first, record);
    else
        split_quoted(whole, record);
    return Done{};
}

Result<bool> CsvReader::next(CsvRecord& record) {
    for (;;) {
        const auto line = next_line();
        if (!line)
            return line.error();
        if (!*line)
            return false;
        const std::string_view text = (*line)->text;
        record.damaged = is_too_long(**line);
        if (!record.damaged && is_skipped(text))
            continue;
        record.fields.clear();
        record.line = line_;
        return record.damaged ? Result<bool>{true} : fields_of(text, record);
    }
}

Result<bool> CsvReader::fields_of(std::string_view line, CsvRecord& record) {
    if (!separator_)
        separator_ = separator_in(line);
    if (line.find('"') != std::string_view::npos)
        return quoted_record(line, record).transform([](Done) { return true; });
    split_plain(line, separator(), record.fields);
    return true;
}

} // namespace dropledger
