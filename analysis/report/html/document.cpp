#include "analysis/report/html/document.hpp"

#include "analysis/report/html/parts.hpp"
#include "analysis/report/pictures/markup.hpp"

#include <fmt/format.h>

namespace dropledger::report::html {

using pictures::element;
using pictures::escaped;

std::string document(const Document& document) {
    std::string text =
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n";
    text += element("title", "", escaped(document.title)) + "\n";
    text += element("style", "", fmt::format("{}{}", style_sheet(), document.more_style)) +
            "\n</head>\n<body>\n";
    text.append(shared_symbols());
    text += element("main", "", fmt::format("\n{}", document.body)) + "\n";
    if (!document.script.empty())
        text += element("script", "", document.script) + "\n";
    return text + "</body>\n</html>\n";
}

} // namespace dropledger::report::html
