#include "analysis/report/html/parts.hpp"

#include "analysis/base/result.hpp"

#include "page_parts.hpp"

#include <fmt/format.h>

namespace dropledger::report::html {

std::string_view part(std::string_view name) {
    for (const parts::Text& text : parts::texts())
        if (text.name == name)
            return text.content;
    throw BrokenInvariant(fmt::format("a page wants a part '{}' that is not there", name));
}

} // namespace dropledger::report::html
