#include "option_words.h"

#include <array>
#include <utility>

namespace anfract::cli {
namespace {

using Words = std::pair<const char*, const char*>;

constexpr std::array places{Words{"the point", "--inside"}, Words{"the canal", "--canal"},
                            Words{"the reference", "--reference"}};

/// What a remedy asks for, and the option that gives it.
constexpr std::array things{
    Words{"another place", "--out"},           Words{"by its UID", "--series"},
    Words{"a canal's two ends", "--canal"},    Words{"insist on a canal", "--canal"},
    Words{"to be replaced", "--force"},        Words{"who may send", "--allow"},
    Words{"the file of the key", "--tls-key"}, Words{"the file of the certificate", "--tls-cert"}};

}  // namespace

Error with_option_named(Error error) {
    for (const auto& [place, option] : places) {
        if (error.where == place) error.where = option;
    }
    for (const auto& [thing, option] : things) {
        if (error.remedy.ends_with(thing)) error.remedy += std::string(" with ") + option;
    }
    return error;
}

}  // namespace anfract::cli
