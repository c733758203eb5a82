// Text made safe for a page that is read both as HTML and as XML.
#pragma once

#include <string>
#include <string_view>

namespace dropledger::report::pictures {

// `& < > " '` become references; what cannot be seen is shown escaped (base/shown_text).
[[nodiscard]] std::string escaped(std::string_view text);

// Escaped, with a minus sign before negative numbers and no line break between a number and its
// unit.
[[nodiscard]] std::string typeset(std::string_view text);

// <name attributes>content</name>; content is markup already. Attributes, if any, as they stand in
// the tag.
[[nodiscard]] std::string element(std::string_view name, std::string_view attributes,
                                  std::string_view content);
// Wider than a phone, perhaps: a region of its own that scrolls, by keyboard too.
[[nodiscard]] std::string scrolling(std::string_view label, std::string_view content);

} // namespace dropledger::report::pictures
