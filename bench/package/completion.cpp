#include "bench/package/completion.hpp"

#include <fmt/format.h>

namespace dropledger::package {

namespace {

constexpr std::string_view head =
    "# Completes dropledger's commands and options in bash. Made from the program's own --help.\n"
    "\n"
    "# The words that may follow a command: those below it, options with a value, options "
    "without.\n"
    "_dropledger_words() {\n"
    "    case $1 in\n";

constexpr std::string_view tail = R"bash(    *) commands='' valued='' flags='' ;;
    esac
}

_dropledger() {
    local commands valued flags place=dropledger before='' word i
    COMPREPLY=()
    for ((i = 1; i < COMP_CWORD; i++)); do
        _dropledger_words "$place"
        word=${COMP_WORDS[i]}
        if [[ -z $before || " $valued " != *" $before "* ]] && [[ " $commands " == *" $word "* ]]; then
            place+=" $word"
        fi
        before=$word
    done
    _dropledger_words "$place"
    word=${COMP_WORDS[COMP_CWORD]}
    if [[ -n $before && " $valued " == *" $before "* ]]; then
        return # its value: a file, by complete's default
    elif [[ $word == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$valued $flags" -- "$word")
    elif [[ -n $commands ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$commands" -- "$word")
    fi
}

complete -o default -F _dropledger dropledger
)bash";

std::string long_names(const cli::CommandPage& page, bool with_value) {
    std::string names;
    for (const cli::ArgumentLine& one : page.options)
        if (const std::string name = one.long_name();
            !name.empty() && one.takes_value() == with_value)
            names += (names.empty() ? "" : " ") + name;
    return names;
}

std::string commands_of(const cli::CommandPage& page) {
    std::string names;
    for (const cli::CommandPage& one : page.below)
        names += (names.empty() ? "" : " ") + one.name.substr(page.name.size() + 1);
    return names;
}

void add(std::string& text, const cli::CommandPage& page) {
    text +=
        fmt::format("    '{}')\n        commands='{}'\n        valued='{}'\n        flags='{}'\n"
                    "        ;;\n",
                    page.name, commands_of(page), long_names(page, true), long_names(page, false));
    for (const cli::CommandPage& one : page.below)
        add(text, one);
}

} // namespace

std::string bash_completion(const cli::CommandPage& program) {
    std::string text(head);
    add(text, program);
    return text + std::string(tail);
}

} // namespace dropledger::package
