#include "anfract/base/result.h"

namespace anfract {

std::string Error::sentence() const {
    std::string text;
    if (!where.empty()) text += where + ": ";
    text += what;
    if (!remedy.empty()) text += "; " + remedy;
    text += ".";
    return text;
}

}  // namespace anfract
