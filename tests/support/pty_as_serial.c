/* Lets a serial-port library open a pseudo-terminal: it lacks modem lines, and has no entry in sysfs.
 *
 * Assumes: the library asks for modem lines by ioctl, and for the device by (l)stat and readlink under
 * /sys/class/tty. Test use only; modem lines are remembered per descriptor and never reach the other end. */
#include <dlfcn.h>
#include <errno.h>
#include <stdarg.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

enum { most_descriptors = 1024 };

static const int always_on = TIOCM_CTS | TIOCM_DSR | TIOCM_CAR;
static int settable[most_descriptors]; /* DTR and RTS as last set */

static int is_pts_entry(const char* path) {
    static const char folder[] = "/sys/class/tty/pts/";
    return strncmp(path, folder, sizeof folder - 1) == 0;
}

static int answer_modem_request(int fd, unsigned long request, int* lines) {
    int* const own = &settable[fd % most_descriptors];
    switch (request) {
    case TIOCMGET:
        *lines = *own | always_on;
        return 1;
    case TIOCMSET:
        *own = *lines & (TIOCM_DTR | TIOCM_RTS);
        return 1;
    case TIOCMBIS:
        *own |= *lines & (TIOCM_DTR | TIOCM_RTS);
        return 1;
    case TIOCMBIC:
        *own &= ~*lines;
        return 1;
    default:
        return 0;
    }
}

int ioctl(int fd, unsigned long request, ...) {
    static int (*system_ioctl)(int, unsigned long, void*);
    if (!system_ioctl)
        *(void**)&system_ioctl = dlsym(RTLD_NEXT, "ioctl");
    va_list rest;
    va_start(rest, request);
    void* const argument = va_arg(rest, void*);
    va_end(rest);
    const int before = errno;
    const int result = system_ioctl(fd, request, argument);
    const int lacks_lines = result < 0 && (errno == ENOTTY || errno == EINVAL);
    if (lacks_lines && fd >= 0 && isatty(fd) && answer_modem_request(fd, request, argument)) {
        errno = before;
        return 0;
    }
    return result;
}

static void describe_link(struct stat* entry) {
    memset(entry, 0, sizeof *entry);
    entry->st_mode = S_IFLNK | 0777;
}

int __lxstat(int version, const char* path, struct stat* entry) {
    static int (*system_lxstat)(int, const char*, struct stat*);
    if (!system_lxstat)
        *(void**)&system_lxstat = dlsym(RTLD_NEXT, "__lxstat");
    if (is_pts_entry(path)) {
        describe_link(entry);
        return 0;
    }
    return system_lxstat(version, path, entry);
}

/* A library built against a newer C library calls this one. */
int lstat(const char* restrict path, struct stat* restrict entry) {
    static int (*system_lstat)(const char*, struct stat*);
    if (!system_lstat)
        *(void**)&system_lstat = dlsym(RTLD_NEXT, "lstat");
    if (is_pts_entry(path)) {
        describe_link(entry);
        return 0;
    }
    return system_lstat(path, entry);
}

ssize_t readlink(const char* restrict path, char* restrict target, size_t room) {
    static ssize_t (*system_readlink)(const char*, char*, size_t);
    if (!system_readlink)
        *(void**)&system_readlink = dlsym(RTLD_NEXT, "readlink");
    if (!is_pts_entry(path))
        return system_readlink(path, target, room);
    static const char device[] = "../../devices/virtual/tty/pts";
    const size_t length = sizeof device - 1 < room ? sizeof device - 1 : room;
    memcpy(target, device, length);
    return (ssize_t)length;
}
