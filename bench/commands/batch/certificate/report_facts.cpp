#include "bench/commands/batch/certificate/report_facts.hpp"

#include "analysis/base/readers/toml_table.hpp"
#include "bench/io/file_source.hpp"

namespace dropledger::cli {

Result<batch::ReportFacts> report_facts_in(const std::string& file) {
    constexpr std::size_t longest = std::size_t{1} << 16U;
    auto document = files::whole_file(file, longest).and_then([&](const std::string& text) {
        return TomlDocument::parse(text, file);
    });
    if (!document)
        return document.error();
    TomlTable root = document->root();
    root.only({"number", "issuer", "place", "client", "product", "authorised_by", "deviation"});
    batch::ReportFacts facts;
    facts.number = root.text("number").value_or("");
    facts.issuer = root.text("issuer").value_or("");
    facts.place = root.text("place").value_or("");
    facts.client = root.text("client").value_or("");
    facts.product = root.text("product").value_or("");
    facts.authorised_by = root.text("authorised_by").value_or("");
    for (TomlTable one : root.tables("deviation")) {
        one.only({"text"});
        facts.deviations.push_back(one.text("text").value_or(""));
    }
    if (document->problem())
        return *document->problem();
    return facts;
}

} // namespace dropledger::cli
