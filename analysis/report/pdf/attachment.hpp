// A file attached inside a PDF, as an incremental update behind the bytes that are already there.
//
// Assumes: the PDF has one classic cross-reference table and nothing attached or named yet, as
// cairo 1.16 writes it (which has no call for attachments). The pages' bytes stay as they are.
// Undefined when: the PDF is not of that kind: std::nullopt.
// Source: ISO 32000-1:2008, 7.5.6 (incremental updates), 7.11.4 (embedded files); the catalog's AF
// entry is ISO 32000-2, 14.13, which PDF/A-3 asks for. PDF/A-3 itself is not claimed: cairo writes
// neither its metadata nor its output intent.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::report::certificate {

struct Attachment {
    std::string name; // of the file inside; printable ASCII without ( ) and backslash
    std::string bytes;
};

struct AttachedFile {
    Attachment file;
    std::string pages; // the PDF as it was before the file went in
};

[[nodiscard]] std::optional<std::string> with_attachment(std::string_view pdf,
                                                         const Attachment& attachment);

// The one file that with_attachment() put there; nothing for a PDF whose attachment was made, or
// touched, in any other way.
[[nodiscard]] std::optional<AttachedFile> attachment_of(std::string_view pdf);

} // namespace dropledger::report::certificate
