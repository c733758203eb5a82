// One table of a TOML document, read key by key; the first thing wrong in the whole document is
// kept, with file:line.
//
// Assumes: the document outlives its tables.
// Undefined when: a key is not there: empty, and nothing wrong; a key that is wrong is empty too.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger {

class TomlTable {
public:
    // Any other key is wrong.
    void only(std::initializer_list<std::string_view> keys);

    [[nodiscard]] bool has(std::string_view key) const;
    [[nodiscard]] std::vector<std::string> keys() const; // sorted
    [[nodiscard]] bool has_table(std::string_view key) const;
    [[nodiscard]] bool has_tables(std::string_view key) const;

    // Of just that kind, and nothing wrong where it is of another.
    [[nodiscard]] std::optional<std::string> as_text(std::string_view key) const;
    [[nodiscard]] std::optional<double> as_number(std::string_view key) const; // a whole one too
    [[nodiscard]] std::optional<std::int64_t> as_whole(std::string_view key) const;
    [[nodiscard]] std::optional<bool> as_flag(std::string_view key) const;

    [[nodiscard]] std::optional<std::string> text(std::string_view key);
    [[nodiscard]] std::optional<double> number(std::string_view key, double least, double greatest);
    [[nodiscard]] std::optional<std::int64_t> whole_number(std::string_view key, double least,
                                                           double greatest);
    [[nodiscard]] std::optional<TomlTable> table(std::string_view key);
    [[nodiscard]] std::vector<TomlTable> tables(std::string_view key); // [[key]]

    void missing(std::string_view key, std::string_view why);
    // At the line of the key; of the table where it is not there.
    void fail(std::string_view key, std::string what, std::string remedy);
    [[nodiscard]] bool failed() const; // anywhere in the document

private:
    friend class TomlDocument;
    struct Document;
    TomlTable(const void* table, Document* document) : table_(table), document_(document) {}

    const void* table_; // a table of the library
    Document* document_;
};

class TomlDocument {
public:
    // `where` is for messages.
    [[nodiscard]] static Result<TomlDocument> parse(std::string_view text, std::string where);

    [[nodiscard]] TomlTable root();
    [[nodiscard]] const std::optional<Error>& problem() const;

private:
    explicit TomlDocument(std::shared_ptr<TomlTable::Document> document)
        : document_(std::move(document)) {}

    std::shared_ptr<TomlTable::Document> document_;
};

} // namespace dropledger
