// What a file is, by its first bytes: so that no command writes over a file of another kind.
//
// Assumes: nothing of its name. A regular file only is looked into; the schema of a JSON object is
// looked for in all of it, wherever it stands.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger::files {

enum class FileKind {
    absent,
    device, // no regular file: a pipe, a terminal, /dev/null
    empty,
    droplog,
    key,
    batch,
    certificate,
    calibration,
    book,
    html,
    pdf,
    csv,
    geojson,
    gpx,
    kml,
    json, // another JSON object of this program
    diagnostics,
    other,
};

[[nodiscard]] std::string_view words_of(FileKind kind); // "a droplog"

[[nodiscard]] FileKind kind_of_content(std::string_view content);

struct FoundFile {
    FileKind kind = FileKind::absent;
    std::string first_line; // a table's header
};
[[nodiscard]] Result<FoundFile> look_at(const std::string& path);

// Refuses where what is at `path` is not of the kind that is to be written there: it would be lost.
// Droplogs and keys are never written over. `header`: a table's, where it is known already; a table
// with another header is another table.
[[nodiscard]] Status may_write(const std::string& path, FileKind kind,
                               std::string_view header = {});

} // namespace dropledger::files
