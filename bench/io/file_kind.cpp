#include "bench/io/file_kind.hpp"

#include "analysis/base/text.hpp"
#include "bench/io/descriptor.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <optional>
#include <utility>

namespace dropledger::files {

namespace {

constexpr std::size_t head_size = 4096;
constexpr std::size_t most_json = std::size_t{256} << 20U; // bytes

constexpr std::array<std::pair<FileKind, std::string_view>, 18> all_words{
    {{FileKind::absent, "no file"},
     {FileKind::device, "no regular file"},
     {FileKind::empty, "an empty file"},
     {FileKind::droplog, "a droplog"},
     {FileKind::key, "a private key"},
     {FileKind::batch, "a batch"},
     {FileKind::certificate, "a certificate"},
     {FileKind::calibration, "a calibration record"},
     {FileKind::book, "a database"},
     {FileKind::html, "a web page"},
     {FileKind::pdf, "a PDF"},
     {FileKind::csv, "a table"},
     {FileKind::geojson, "a map (GeoJSON)"},
     {FileKind::gpx, "a walk (GPX)"},
     {FileKind::kml, "a walk (KML)"},
     {FileKind::json, "a JSON file"},
     {FileKind::diagnostics, "a file of diagnostics"},
     {FileKind::other, "a file of a kind that is not written here"}}};

constexpr std::array<std::pair<std::string_view, FileKind>, 6> beginnings{
    {{"@droplog,", FileKind::droplog},
     {"dropledger bench key", FileKind::key},
     {"-----BEGIN ", FileKind::key},
     {std::string_view{"SQLite format 3\0", 16}, FileKind::book},
     {"%PDF-", FileKind::pdf},
     {"<!doctype html", FileKind::html}}};

bool begins_with(std::string_view content, std::string_view beginning) {
    if (content.size() < beginning.size())
        return false;
    for (std::size_t i = 0; i < beginning.size(); ++i) {
        const char c = content[i];
        const char lower = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        if (c != beginning[i] && lower != beginning[i])
            return false;
    }
    return true;
}

// One string of JSON text from its opening quote on; `at` moves behind the closing one.
std::string_view json_string(std::string_view text, std::size_t& at) {
    const std::size_t begin = ++at;
    while (at < text.size() && text[at] != '"')
        at += text[at] == '\\' ? 2U : 1U;
    const std::size_t end = std::min(at, text.size());
    ++at;
    return text.substr(begin, end - begin);
}

int deeper_by(char c) {
    return (c == '{' || c == '[') ? 1 : (c == '}' || c == ']') ? -1 : 0;
}

void skip_blanks(std::string_view json, std::size_t& at) {
    at = std::min(json.find_first_not_of(" \t\r\n", at), json.size());
}

// Behind a name: the string that it stands for, where it does for one.
std::optional<std::string_view> text_after_colon(std::string_view json, std::size_t& at) {
    skip_blanks(json, at);
    if (at >= json.size() || json[at] != ':')
        return std::nullopt;
    skip_blanks(json, ++at);
    if (at >= json.size() || json[at] != '"')
        return std::nullopt;
    return json_string(json, at);
}

// The text that stands under one of the names in the outermost object; nothing is built, so depth
// and size do no harm.
std::optional<std::string_view> outermost_text(std::string_view json, std::string_view name) {
    int depth = 0;
    for (std::size_t at = 0; at < json.size();) {
        const char c = json[at];
        if (c != '"') {
            depth += deeper_by(c);
            ++at;
            continue;
        }
        const std::string_view key = json_string(json, at);
        if (depth != 1 || key != name)
            continue;
        if (const auto text = text_after_colon(json, at))
            return text;
    }
    return std::nullopt;
}

FileKind kind_of_json(std::string_view json) {
    const std::string_view schema = outermost_text(json, "schema").value_or("");
    if (schema.starts_with("dropledger/batch-file/"))
        return FileKind::batch;
    if (schema.starts_with("dropledger/certificate/"))
        return FileKind::certificate;
    if (schema.starts_with("dropledger/"))
        return FileKind::json;
    return outermost_text(json, "type") == "FeatureCollection" ? FileKind::geojson
                                                               : FileKind::other;
}

std::string_view first_line_of(std::string_view content) {
    return trim(content.substr(0, content.find('\n')));
}

bool is_calibration(std::string_view content) {
    const std::size_t at = content.find("dropledger/calibration/");
    return at != std::string_view::npos &&
           content.substr(0, at).find("schema") != std::string_view::npos;
}

FileKind kind_of_xml(std::string_view content) {
    if (content.find("<gpx ") != std::string_view::npos)
        return FileKind::gpx;
    return content.find("<kml ") != std::string_view::npos ? FileKind::kml : FileKind::other;
}

// A header of names, no sentence and no settings file.
bool is_table(std::string_view content) {
    const std::string_view header = first_line_of(content);
    return header.find_first_of(",;") != std::string_view::npos &&
           header.find_first_of("[]{}<>#*@ ") == std::string_view::npos &&
           content.find('\0') == std::string_view::npos;
}

// As a run's diagnostics write the time: a 0 stands for any digit, a + for a - too.
bool is_diagnostics(std::string_view content) {
    constexpr std::string_view form = "0000-00-00T00:00:00.000+00:00 [";
    return content.size() >= form.size() &&
           std::equal(form.begin(), form.end(), content.begin(), [](char shape, char c) {
               return shape == '0'   ? c >= '0' && c <= '9'
                      : shape == '+' ? c == '+' || c == '-'
                                     : c == shape;
           });
}

std::string_view without_mark(std::string_view content) {
    return content.starts_with("\xEF\xBB\xBF") ? content.substr(3) : content;
}

bool is_json(std::string_view head) {
    return trim(without_mark(head)).starts_with('{');
}

Result<std::string> first_bytes(const std::string& path, std::size_t most) {
    const Descriptor file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)};
    if (!file.is_open())
        return system_error(path, "look at", errno);
    std::string bytes;
    std::array<char, head_size> room{};
    while (bytes.size() < most) {
        const ssize_t got = ::read(file.number(), room.data(), room.size());
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return system_error(path, "look at", errno);
        if (got == 0)
            break;
        bytes.append(room.data(), static_cast<std::size_t>(got));
    }
    return bytes;
}

} // namespace

std::string_view words_of(FileKind kind) {
    for (const auto& [one, words] : all_words)
        if (one == kind)
            return words;
    throw BrokenInvariant("a kind of file without words");
}

FileKind kind_of_content(std::string_view content) {
    if (content.empty())
        return FileKind::empty;
    content = without_mark(content);
    for (const auto& [beginning, kind] : beginnings)
        if (begins_with(content, beginning))
            return kind;
    if (content.substr(0, head_size).find("\n@droplog,") != std::string_view::npos)
        return FileKind::droplog; // noise before its first line
    if (is_json(content.substr(0, head_size)))
        return kind_of_json(content);
    if (begins_with(content, "<?xml"))
        return kind_of_xml(content.substr(0, head_size));
    if (is_calibration(content.substr(0, head_size)))
        return FileKind::calibration;
    if (is_diagnostics(content))
        return FileKind::diagnostics;
    return is_table(content.substr(0, head_size)) ? FileKind::csv : FileKind::other;
}

Result<FoundFile> look_at(const std::string& path) {
    struct stat about {};
    if (::stat(path.c_str(), &about) != 0)
        return errno == ENOENT || errno == ENOTDIR
                   ? Result<FoundFile>{FoundFile{}}
                   : Result<FoundFile>{system_error(path, "look at", errno)};
    if (!S_ISREG(about.st_mode))
        return FoundFile{FileKind::device, {}};
    const auto head = first_bytes(path, head_size);
    if (!head)
        return head.error();
    if (!is_json(*head))
        return FoundFile{kind_of_content(*head), std::string(first_line_of(without_mark(*head)))};
    const auto json = first_bytes(path, most_json);
    if (!json)
        return json.error();
    return FoundFile{kind_of_content(*json), {}};
}

Status may_write(const std::string& path, FileKind kind, std::string_view header) {
    const auto found = look_at(path);
    if (!found)
        return found.error();
    const bool is_free = found->kind == FileKind::absent || found->kind == FileKind::device ||
                         found->kind == FileKind::empty;
    if (is_free)
        return Done{};
    const auto refused = [&](std::string what) {
        return usage_error(path, std::move(what), "name another file");
    };
    if (found->kind == FileKind::droplog || found->kind == FileKind::key)
        return refused(fmt::format("it is {}; that is never written over", words_of(found->kind)));
    if (found->kind != kind)
        return refused(fmt::format("it is {} and would be lost: {} is to be written",
                                   words_of(found->kind), words_of(kind)));
    if (kind == FileKind::csv && !header.empty() && found->first_line != header)
        return refused("it is a table with other columns and would be lost");
    return Done{};
}

} // namespace dropledger::files
