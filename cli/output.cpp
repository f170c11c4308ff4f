// SPDX-License-Identifier: MIT
#include "output.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <system_error>

namespace tubewright::cli {
namespace {

std::string reason(int error) {
    return std::error_code(error, std::generic_category()).message();
}

/// 0, or errno.
int write_all(int descriptor, std::string_view text) {
    while (!text.empty()) {
        const ssize_t written = ::write(descriptor, text.data(), text.size());
        if (written < 0) {
            if (errno == EINTR) continue;
            return errno;
        }
        text.remove_prefix(static_cast<std::size_t>(written));
    }
    return 0;
}

}  // namespace

bool regular_file(const std::string& path) {
    std::error_code ignored;
    return std::filesystem::is_regular_file(path, ignored);
}

bool same_file(const std::string& a, const std::string& b) {
    std::error_code ignored;
    return std::filesystem::equivalent(a, b, ignored);
}

std::optional<std::string> write_standard_output(std::string_view text) {
    if (const int error = write_all(STDOUT_FILENO, text)) return reason(error);
    return {};
}

std::optional<std::string> write_whole_file(const std::string& path, std::string_view text) {
    // Through a link the file itself is replaced, not the link.
    std::error_code none;
    std::filesystem::path target(path);
    if (std::filesystem::is_symlink(target, none)) {
        const std::filesystem::path real = std::filesystem::canonical(target, none);
        if (!none) target = real;
    }
    // A device or a pipe cannot be replaced by a neighbour: it is written straight.
    const bool device = std::filesystem::exists(target, none) && !std::filesystem::is_regular_file(target, none);
    if (device) {
        const int straight = ::open(target.c_str(), O_WRONLY | O_CLOEXEC);
        if (straight < 0) return reason(errno);
        const int error = write_all(straight, text);
        const int closing = ::close(straight) == 0 ? 0 : errno;
        if (error != 0 || closing != 0) return reason(error != 0 ? error : closing);
        return {};
    }
    std::string neighbour = target.string() + ".XXXXXX";
    const int descriptor = ::mkstemp(neighbour.data());
    if (descriptor < 0) return reason(errno);
    struct stat before {};
    mode_t mode = 0;
    if (::stat(target.c_str(), &before) == 0) {
        mode = before.st_mode & 07777;
    } else {
        const mode_t mask = ::umask(0);
        ::umask(mask);
        mode = 0666 & ~mask;
    }
    int error = write_all(descriptor, text);
    if (error == 0 && ::fchmod(descriptor, mode) != 0) error = errno;
    if (error == 0 && ::fsync(descriptor) != 0) error = errno;
    if (::close(descriptor) != 0 && error == 0) error = errno;
    if (error == 0 && ::rename(neighbour.c_str(), target.c_str()) != 0) error = errno;
    if (error != 0) {
        ::unlink(neighbour.c_str());
        return reason(error);
    }
    return {};
}

}  // namespace tubewright::cli
