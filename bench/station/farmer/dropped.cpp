#include "bench/station/farmer/dropped.hpp"

#include "analysis/base/readers/open_string.hpp"
#include "analysis/base/text.hpp"
#include "analysis/field/input/droplogs.hpp"
#include "analysis/field/table/decoded_source.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/farmer/farmer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>

namespace dropledger::station {

namespace {

// By its name, whatever is in it.
struct Other {
    std::string_view ending;
    const char* what;
    const char* remedy;
};
constexpr std::array<Other, 8> others{
    {{".found.csv", "this is what was dug up, no table",
      "say it on the night's own page, under what was dug up"},
     {".pdf", "these are pages, no table", "drop the machine's table; a pack goes to Batches"},
     {".zip", "this is packed", "unpack it, and drop the table in it"},
     {".toml", "these are settings, no table", "copy them into the station's folder"},
     {".json", "this is no table", "drop the machine's table; a pack goes to Batches"},
     {".key", "this is a key, no table", "keep it where nobody else can read it"},
     {".book", "this is a book of the bench, no table", "drop the machine's table"},
     {".gpx", "this is a walk, no table", "drop the machine's table"}}};

// Letters, digits, blanks; nothing of what only programs read.
bool is_text(const std::string& bytes) {
    StringSource source(bytes);
    field::DecodedSource decoded(source);
    const auto head = decoded.head();
    return head && std::none_of(head->begin(), head->end(), [](char c) {
               return static_cast<unsigned char>(c) < 0x20U && !std::isspace(c);
           });
}

// By its names: what a walking list has and no table of drops.
bool is_walking_list(const std::string& bytes) {
    const std::string names = bytes.substr(0, bytes.find('\n'));
    return names.find("first_drop") != std::string::npos &&
           names.find("last_drop") != std::string::npos;
}

} // namespace

Result<Dropped> what_was_dropped(const std::string& name, const std::string& bytes) {
    const std::string plain = lower(name);
    const auto log = field::is_droplog(open_string(bytes));
    if (log && *log)
        return Dropped::log;
    if (plain.ends_with(log_ending))
        return input_error("", "this is called a log, but does not begin like one",
                           "drop the log as the machine wrote it");
    for (const Other& one : others)
        if (plain.ends_with(one.ending))
            return input_error("", one.what, one.remedy);
    if (bytes.starts_with("PK"))
        return input_error("", "this is a spreadsheet program's own file",
                           "save it as CSV there, and drop that");
    if (is_walking_list(bytes))
        return input_error("", "this is a walking list, no table of drops",
                           "drop it on its night's own page, under what was dug up");
    if (!is_text(bytes))
        return input_error("", "this is no text, so no table", "drop the machine's table as CSV");
    return Dropped::table;
}

std::string kept_name(const std::string& folder, const std::string& name, const std::string& bytes,
                      std::string_view ending) {
    const std::string stem =
        lower(name).ends_with(ending) ? name.substr(0, name.size() - ending.size()) : name;
    const auto is_other = [&](const std::string& one) {
        const std::string file = folder + "/" + one;
        if (!std::filesystem::exists(file))
            return false;
        const auto there = files::whole_file(file, most_dropped_bytes);
        return !there || *there != bytes;
    };
    std::string kept = stem + std::string(ending);
    for (int number = 2; is_other(kept); ++number)
        kept = fmt::format("{}-{}{}", stem, number, ending);
    return kept;
}

} // namespace dropledger::station
