#include "analysis/base/result.hpp"

namespace dropledger {

std::string Error::message() const {
    std::string text = where.empty() ? what : where + ": " + what;
    if (!remedy.empty())
        text += "; " + remedy;
    return text;
}

int exit_status(ErrorKind kind) {
    switch (kind) {
    case ErrorKind::usage:
        return 64;
    case ErrorKind::input:
        return 65;
    case ErrorKind::device:
        return 74;
    }
    throw BrokenInvariant("exit_status: unknown error kind");
}

} // namespace dropledger
