;;; leadsman.el --- Dive plans checked while you type  -*- lexical-binding: t; -*-

;; Package-Requires: ((emacs "26.3") (eglot "1.9"))

;;; Commentary:

;; Starts the leadsman server, through eglot, for dive plans, kit and an
;; archive's root file.

;;; Code:

(require 'eglot)

(defgroup leadsman nil
  "Dive plans checked while you type."
  :group 'tools)

(defcustom leadsman-command '("leadsman" "lsp")
  "The server's command and its arguments."
  :type '(repeat string))

(defvar leadsman-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?/ ". 124b" table)
    (modify-syntax-entry ?* ". 23" table)
    (modify-syntax-entry ?\n "> b" table)
    (modify-syntax-entry ?- "w" table)
    table)
  "Comments, strings and words of a dive plan.")

;;;###autoload
(define-derived-mode leadsman-mode prog-mode "Dive plan"
  "A dive plan, kit, or an archive's root file."
  (setq-local comment-start "// ")
  (setq-local comment-end "")
  (setq-local indent-tabs-mode nil))

;;;###autoload
(add-to-list 'auto-mode-alist
             '("\\(?:\\.plan\\.kdl\\|\\.kit\\.kdl\\|/leadsman\\.kdl\\)\\'" . leadsman-mode))

(add-to-list 'eglot-server-programs
             '(leadsman-mode . (lambda (&rest _) leadsman-command)))

;;;###autoload
(add-hook 'leadsman-mode-hook #'eglot-ensure)

(provide 'leadsman)
;;; leadsman.el ends here
