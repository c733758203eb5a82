#include "analysis/report/pdf/drawing.hpp"

#include <dlfcn.h>

#include <string>

namespace dropledger::report::certificate {

namespace {

constexpr const char* library_name = "libpangocairo-1.0.so.0"; // the others come along with it

struct Loaded {
    Drawing functions{};
    std::string problem; // empty where all is there
};

template <class Function>
void find(void* library, const char* name, Function*& function, std::string& problem) {
    function = reinterpret_cast<Function*>(::dlsym(library, name));
    if (function == nullptr && problem.empty())
        problem = std::string("it has no ") + name;
}

// One statement a function of the list. NOLINTNEXTLINE(readability-function-size)
Loaded load() {
    Loaded loaded;
    void* const library = ::dlopen(library_name, RTLD_LAZY | RTLD_LOCAL);
    if (library == nullptr) {
        const char* const why = ::dlerror();
        loaded.problem = why != nullptr ? why : "it cannot be loaded";
        return loaded;
    }
#define DROPLEDGER_FIND(name) find(library, #name, loaded.functions.name, loaded.problem);
    DROPLEDGER_DRAWING(DROPLEDGER_FIND)
#undef DROPLEDGER_FIND
    return loaded;
}

const Loaded& loaded() {
    static const Loaded once = load();
    return once;
}

} // namespace

Status loads_drawing() {
    if (loaded().problem.empty())
        return Done{};
    return device_error(library_name, loaded().problem,
                        "install libpango-1.0-0 and libpangocairo-1.0-0");
}

const Drawing& drawing() {
    if (!loaded().problem.empty())
        throw BrokenInvariant("a page is drawn without the library for it: " + loaded().problem);
    return loaded().functions;
}

} // namespace dropledger::report::certificate
