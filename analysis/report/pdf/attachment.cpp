#include "analysis/report/pdf/attachment.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>

namespace dropledger::report::certificate {

namespace {

constexpr std::string_view end_mark = "%%EOF\n";
constexpr std::string_view catalog_head = "<< /Type /Catalog";

// Where the cross-reference table stands and what its trailer says.
struct Trailer {
    std::int64_t table = 0; // offset
    std::int64_t size = 0;  // objects
    std::int64_t root = 0;  // object of the catalog
    std::int64_t info = 0;
};

// The whole number behind the last `key` at or after `from`.
std::optional<std::int64_t> number_after(std::string_view text, std::string_view key) {
    const std::size_t at = text.rfind(key);
    if (at == std::string_view::npos)
        return std::nullopt;
    const std::string_view rest = text.substr(at + key.size());
    const std::size_t first = rest.find_first_not_of(" \n");
    if (first == std::string_view::npos)
        return std::nullopt;
    const std::size_t end = rest.find_first_not_of("0123456789", first);
    return parse_int(rest.substr(first, end - first));
}

std::optional<Trailer> trailer_of(std::string_view pdf) {
    if (!pdf.starts_with("%PDF-1.") || !pdf.ends_with(end_mark))
        return std::nullopt;
    const std::size_t at = pdf.rfind("\ntrailer\n");
    if (at == std::string_view::npos)
        return std::nullopt;
    const std::string_view tail = pdf.substr(at);
    const auto table = number_after(tail, "startxref");
    const auto size = number_after(tail, "/Size");
    const auto root = number_after(tail, "/Root");
    const auto info = number_after(tail, "/Info");
    if (!table || !size || !root || !info || tail.find("/Prev") != std::string_view::npos)
        return std::nullopt;
    return Trailer{*table, *size, *root, *info};
}

// What stands between << and >> of the catalog.
std::optional<std::string_view> catalog_of(std::string_view pdf, const Trailer& trailer) {
    const std::string head = fmt::format("\n{} 0 obj\n{}", trailer.root, catalog_head);
    const std::size_t at = pdf.rfind(head);
    if (at == std::string_view::npos)
        return std::nullopt;
    const std::size_t begin = at + head.size() - catalog_head.size() + 2;
    const std::size_t end = pdf.find("\n>>\nendobj\n", begin);
    if (end == std::string_view::npos)
        return std::nullopt;
    const std::string_view entries = pdf.substr(begin, end - begin);
    // cairo marks a tagged document so; any other dictionary is not its writing.
    constexpr std::string_view mark = "/MarkInfo << /Marked true >>";
    const std::size_t marked = entries.find(mark);
    for (const std::string_view taken : {"/Names", "/AF", "/Lang", "<<"})
        for (std::size_t found = entries.find(taken); found != std::string_view::npos;
             found = entries.find(taken, found + 1))
            if (marked == std::string_view::npos || found < marked || found >= marked + mark.size())
                return std::nullopt;
    return entries;
}

bool plain_name(std::string_view name) {
    return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
        return c >= ' ' && c <= '~' && c != '(' && c != ')' && c != '\\';
    });
}

// The attached file's own object up to its first byte; attachment_of() looks for the same.
std::string stream_head(std::int64_t object, std::size_t length) {
    return fmt::format("{} 0 obj\n<< /Type /EmbeddedFile\n   /Subtype /application#2Fjson\n"
                       "   /Params << /Size {} >>\n   /Length {} >>\nstream\n",
                       object, length, length);
}

std::string file_specification(std::int64_t object, const std::string& name) {
    return fmt::format("{0} 0 obj\n<< /Type /Filespec\n   /F ({1})\n   /UF ({1})\n"
                       "   /AFRelationship /Source\n   /EF << /F {2} 0 R >>\n>>\nendobj\n",
                       object, name, object - 1);
}

std::string catalog(std::string_view entries, const Trailer& trailer, const std::string& name) {
    const std::int64_t file = trailer.size + 1;
    return fmt::format("{} 0 obj\n<<{}\n   /Lang (en-GB)\n   /AF [ {} 0 R ]\n"
                       "   /Names << /EmbeddedFiles << /Names [ ({}) {} 0 R ] >> >>\n>>\nendobj\n",
                       trailer.root, entries, file, name, file);
}

// The document's information with its dates as ISO 32000 wants them: cairo 1.16 leaves out "D:".
std::optional<std::string> information(std::string_view pdf, const Trailer& trailer) {
    const std::size_t begin = pdf.rfind(fmt::format("\n{} 0 obj\n", trailer.info));
    constexpr std::string_view end_of_object = "\nendobj\n";
    const std::size_t end = pdf.find(end_of_object, begin);
    if (begin == std::string_view::npos || end == std::string_view::npos)
        return std::nullopt;
    std::string object(pdf.substr(begin + 1, end + end_of_object.size() - begin - 1));
    for (const std::string_view key : {"\n   /CreationDate (", "\n   /ModDate ("})
        if (const std::size_t at = object.find(key); at != std::string::npos)
            object.insert(at + key.size(), "D:");
    return object;
}

struct Places {
    std::size_t information = 0;
    std::size_t stream = 0;
    std::size_t file = 0;
    std::size_t catalog = 0;
    std::size_t table = 0;
};

std::string table_and_trailer(const Places& places, const Trailer& before) {
    const auto entry = [](std::size_t place) { return fmt::format("{:010} 00000 n \n", place); };
    return fmt::format("xref\n{} 1\n{}{} 1\n{}{} 2\n{}{}", before.info, entry(places.information),
                       before.root, entry(places.catalog), before.size, entry(places.stream),
                       entry(places.file)) +
           fmt::format("trailer\n<< /Size {}\n   /Root {} 0 R\n   /Info {} 0 R\n   /Prev {}\n>>\n"
                       "startxref\n{}\n{}",
                       before.size + 2, before.root, before.info, before.table, places.table,
                       end_mark);
}

} // namespace

std::optional<std::string> with_attachment(std::string_view pdf, const Attachment& attachment) {
    const auto trailer = trailer_of(pdf);
    if (!trailer || !plain_name(attachment.name))
        return std::nullopt;
    const auto entries = catalog_of(pdf, *trailer);
    const auto info = information(pdf, *trailer);
    if (!entries || !info)
        return std::nullopt;
    std::string out(pdf);
    Places places;
    places.stream = out.size();
    out += stream_head(trailer->size, attachment.bytes.size()) + attachment.bytes +
           "\nendstream\nendobj\n";
    places.file = out.size();
    out += file_specification(trailer->size + 1, attachment.name);
    places.information = out.size();
    out += *info;
    places.catalog = out.size();
    out += catalog(*entries, *trailer, attachment.name);
    places.table = out.size();
    return out + table_and_trailer(places, *trailer);
}

namespace {

// The attachment that an update behind `pages` says it has; nothing of it is checked yet.
std::optional<Attachment> claimed(std::string_view update, std::int64_t object) {
    constexpr std::string_view mark = "<< /Type /EmbeddedFile\n";
    constexpr std::string_view size_key = "/Size ";
    constexpr std::string_view name_key = "/F (";
    const std::size_t key = update.find(size_key);
    if (!update.starts_with(fmt::format("{} 0 obj\n{}", object, mark)) ||
        key == std::string_view::npos)
        return std::nullopt;
    const std::size_t digits = key + size_key.size();
    const auto length = parse_int(update.substr(digits, update.find(' ', digits) - digits));
    if (!length || *length < 0 || static_cast<std::size_t>(*length) > update.size())
        return std::nullopt;
    const auto size = static_cast<std::size_t>(*length);
    const std::size_t begin = stream_head(object, size).size();
    const std::size_t name = update.find(name_key, begin + size);
    if (name == std::string_view::npos)
        return std::nullopt;
    const std::size_t name_begin = name + name_key.size();
    return Attachment{
        std::string(update.substr(name_begin, update.find(')', name_begin) - name_begin)),
        std::string(update.substr(begin, size))};
}

} // namespace

// Takes the update apart and makes it anew: only what gives the same bytes is ours.
std::optional<AttachedFile> attachment_of(std::string_view pdf) {
    constexpr int most_looks = 16; // a page holds the mark by rare chance only
    std::size_t at = pdf.find(end_mark);
    for (int look = 0; look < most_looks && at != std::string_view::npos;
         ++look, at = pdf.find(end_mark, at + 1)) {
        const std::string_view pages = pdf.substr(0, at + end_mark.size());
        const auto trailer = trailer_of(pages);
        if (!trailer)
            continue;
        auto found = claimed(pdf.substr(pages.size()), trailer->size);
        if (!found || with_attachment(pages, *found) != pdf)
            return std::nullopt;
        return AttachedFile{*std::move(found), std::string(pages)};
    }
    return std::nullopt;
}

} // namespace dropledger::report::certificate
